package recordings

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"syscall"

	"ringcraft/internal/logbook"
)

// trouble gives a file error its code and the sentence to show; nil stays nil.
func trouble(err error, doing string) error {
	var known *logbook.Error
	switch {
	case err == nil, errors.As(err, &known), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case errors.Is(err, syscall.ENOSPC):
		return logbook.Wrap(logbook.Busy, err, "%s: the disk is full. Make room and try again", doing)
	case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		return logbook.Wrap(logbook.Busy, err, "%s: the folder or disk is read-only", doing)
	case errors.Is(err, io.ErrUnexpectedEOF):
		return logbook.Wrap(logbook.Invalid, err, "%s: the upload ended too early", doing)
	}
	return logbook.Wrap(logbook.Busy, err, "%s: the disk did not answer as it should", doing)
}

// withContext is a reader that stops when its context does.
type withContext struct {
	ctx context.Context
	r   io.Reader
}

func (w withContext) Read(p []byte) (int, error) {
	if err := w.ctx.Err(); err != nil {
		return 0, err
	}
	return w.r.Read(p)
}

func bytesInWords(n int64) string {
	switch {
	case n >= 1<<30:
		return fmt.Sprintf("%.1f GB", float64(n)/(1<<30))
	case n >= 1<<20:
		return fmt.Sprintf("%d MB", n>>20)
	case n >= 1<<10:
		return fmt.Sprintf("%d KB", n>>10)
	}
	return fmt.Sprintf("%d bytes", n)
}
