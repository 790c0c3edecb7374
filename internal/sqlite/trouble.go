package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"time"

	driver "modernc.org/sqlite"
	codes "modernc.org/sqlite/lib"

	"ringcraft/internal/logbook"
	"ringcraft/internal/sqlite/gen"
)

// trouble gives a database error its code and the sentence to show; errors that have one, and
// nil, pass as they are. Errors are told apart by SQLite's result codes, never by their text.
func trouble(err error) error {
	var known *logbook.Error
	var d *driver.Error
	switch {
	case err == nil, errors.As(err, &known), errors.Is(err, context.Canceled):
		return err
	case !errors.As(err, &d):
		return logbook.Wrap(logbook.Internal, err, "the store did not do what was asked")
	}
	if d.Code() == codes.SQLITE_CONSTRAINT_FOREIGNKEY {
		return logbook.Wrap(logbook.Invalid, err, "this names something that is not in the book (any more)")
	}
	switch d.Code() & 0xff {
	case codes.SQLITE_BUSY, codes.SQLITE_LOCKED:
		return logbook.Wrap(logbook.Busy, err, "another program holds the store; try again when it is done")
	case codes.SQLITE_FULL:
		return logbook.Wrap(logbook.Busy, err, "the disk is full; nothing was stored. Make room and try again")
	case codes.SQLITE_READONLY, codes.SQLITE_CANTOPEN, codes.SQLITE_PERM:
		return logbook.Wrap(logbook.Busy, err, "the store cannot be written: its folder or disk is read-only or missing")
	case codes.SQLITE_IOERR:
		return logbook.Wrap(logbook.Busy, err, "the disk did not answer as it should; nothing was stored")
	case codes.SQLITE_CORRUPT, codes.SQLITE_NOTADB:
		return logbook.Wrap(logbook.Damaged, err, "the store is damaged or is not a store; restore a backup")
	case codes.SQLITE_CONSTRAINT:
		return logbook.Wrap(logbook.Conflict, err, "this is in the book already")
	}
	return logbook.Wrap(logbook.Internal, err, "the store did not do what was asked")
}

// Atomically runs f in one transaction.
func (s *Store) Atomically(ctx context.Context, f func(logbook.Store) error) error {
	return s.write(ctx, func(in *Store) error { return f(in) })
}

// write runs f in a transaction: the one that is open, or a new one. Writers of this program wait
// for their turn in a queue: SQLite lets one write at a time, and waiting inside it is by trying
// again, which lets some wait for very long when many write.
func (s *Store) write(ctx context.Context, f func(*Store) error) error {
	if s.db == nil {
		return f(s)
	}
	select {
	case s.turn <- struct{}{}:
		defer func() { <-s.turn }()
	case <-ctx.Done():
		return ctx.Err()
	}
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return trouble(err)
	}
	defer tx.Rollback() // does nothing after Commit
	gone := false
	if err := f(&Store{q: gen.New(tx), path: s.path, gone: &gone}); err != nil {
		return trouble(err)
	}
	if err := tx.Commit(); err != nil || !gone {
		return trouble(err)
	}
	s.fold(ctx)
	return nil
}

// removing runs a removal for good: afterwards what was removed is not in the store's files either.
func (s *Store) removing(ctx context.Context, f func(*gen.Queries) error) error {
	return s.write(ctx, func(in *Store) error {
		*in.gone = true
		return f(in.q)
	})
}

// fold brings the log into the file and empties it, so that what was removed is not in the log
// either. While others read it waits for no one: the log is emptied at the next chance, at the
// latest when the store is closed.
func (s *Store) fold(ctx context.Context) {
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return
	}
	defer conn.Close()
	if _, err := conn.ExecContext(ctx, "PRAGMA busy_timeout = 0"); err != nil {
		return
	}
	_, _ = conn.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)") // busy: later
	_, _ = conn.ExecContext(context.WithoutCancel(ctx), "PRAGMA busy_timeout = 10000")
}

// one turns a looked-up row into a record; no row is NotFound.
func one[R, T any](row R, err error, what, id string, from func(R) T) (T, error) {
	if errors.Is(err, sql.ErrNoRows) {
		var none T
		return none, logbook.NoSuch(what, id)
	}
	if err != nil {
		var none T
		return none, trouble(err)
	}
	return from(row), nil
}

func many[R, T any](rows []R, err error, from func(R) T) ([]T, error) {
	if err != nil {
		return nil, trouble(err)
	}
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = from(r)
	}
	return out, nil
}

// stampLayout has a fixed width, so that times compare as text.
const stampLayout = "2006-01-02T15:04:05.000000000Z"

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(stampLayout)
}

// unstamp reads what stamp wrote; anything else, as a hand-edited store may hold, is no time.
func unstamp(s string) time.Time {
	t, err := time.Parse(stampLayout, s)
	if err != nil {
		return time.Time{}
	}
	return t
}

func bit(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// optional is a reference that may be absent.
func optional(id string) sql.NullString { return sql.NullString{String: id, Valid: id != ""} }
