package logbook

import (
	"ringcraft/internal/diagnose"
	"ringcraft/internal/measure"
	"ringcraft/internal/remarks"
	"ringcraft/internal/report"
	"ringcraft/internal/rideplan"
	"ringcraft/internal/sheet"
)

// The words of the stages as the book speaks them, so that pages need to know only the book.
type (
	Plan           = rideplan.Plan
	Movement       = rideplan.Movement
	Demand         = rideplan.Demand
	Problem        = sheet.Problem
	Measure        = measure.Measure
	Remark         = remarks.Remark
	Loss           = diagnose.Loss
	Cause          = diagnose.Cause
	MeasureChange  = diagnose.MeasureChange
	MovementChange = diagnose.MovementChange
	ReviewDoc      = report.ReviewDoc
)
