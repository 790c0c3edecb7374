package jobs

import (
	"context"

	"ringcraft/internal/logbook"
)

// Transcribe is the kind of job that turns a ride's sound into words.
const Transcribe = "transcribe"

// Transcription is the work of that kind: the ride's sound through the command into the book.
func Transcription(b *logbook.Book, c Command) Work {
	return func(ctx context.Context, rideID string, report func(float64, string)) error {
		sound, err := b.Sound(ctx, rideID)
		if err != nil {
			return err
		}
		defer sound.Close()
		words, err := c.Run(ctx, sound, report)
		if err != nil {
			return err
		}
		return b.AddTranscript(ctx, rideID, "transcript.vtt", words)
	}
}
