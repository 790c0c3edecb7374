package jobs

import (
	"context"
	"errors"
	"fmt"
	"io"

	"ringcraft/internal/logbook"
)

// Transcribe is the kind of job that turns a ride's sound into words.
const Transcribe = "transcribe"

// Transcription is the work of that kind: the ride's sound, one take after the other, through the
// command into the book. Each take is a file of its own to the command; the times it writes are
// put on the ride's clock.
func Transcription(b *logbook.Book, c Command) Work {
	return func(ctx context.Context, rideID string, report func(float64, string)) error {
		takes, err := b.Takes(ctx, rideID)
		if err != nil {
			return err
		}
		said := make([]logbook.TakeWords, 0, len(takes))
		for i, t := range takes {
			words, err := runTake(ctx, c, b.OpenTake(ctx, t), takeProgress(report, i, len(takes)))
			if err != nil {
				return inTake(err, i, len(takes))
			}
			said = append(said, logbook.TakeWords{Take: t, Words: words})
		}
		words, err := logbook.JoinTranscripts(said)
		if err != nil {
			return err
		}
		return b.AddTranscript(ctx, rideID, "transcript.vtt", words)
	}
}

func runTake(ctx context.Context, c Command, sound io.ReadCloser, report func(float64, string)) ([]byte, error) {
	defer sound.Close()
	return c.Run(ctx, sound, report)
}

// inTake says in which take the command failed; a cancelled job stays what it is.
func inTake(err error, i, n int) error {
	var e *logbook.Error
	if n == 1 || !errors.As(err, &e) {
		return err
	}
	return logbook.Wrap(e.Code, e.Cause, "take %d of %d: %s", i+1, n, e.Message)
}

// takeProgress puts the progress of one take among all.
func takeProgress(report func(float64, string), i, n int) func(float64, string) {
	if n == 1 {
		return report
	}
	return func(done float64, words string) {
		if done >= 0 {
			done = (float64(i) + done) / float64(n)
		}
		report(done, fmt.Sprintf("take %d of %d: %s", i+1, n, words))
	}
}
