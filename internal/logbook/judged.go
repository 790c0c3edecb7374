package logbook

import "ringcraft/internal/judging"

// How marks add up, as the book speaks of it.
type (
	JudgeScore = judging.JudgeScore
	Rules      = judging.Rules
)
