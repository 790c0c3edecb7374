package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver "sqlite"

	"ringcraft/internal/logbook"
	"ringcraft/internal/sqlite/gen"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// applicationID marks the file as ours ("RING"), so that a foreign database is recognised.
const applicationID = 0x52494e47

// Store is a logbook.Store and an access.Store in one SQLite file. Its methods may be called
// from many goroutines.
type Store struct {
	db   *sql.DB // nil inside Atomically
	q    *gen.Queries
	path string
	turn chan struct{} // held by the one who writes
	gone *bool         // inside Atomically: something was removed for good
}

var _ logbook.Store = (*Store)(nil)

// settings is what every connection is opened with. synchronous 2 (FULL) syncs the log at every
// commit: with less, a commit can be gone after a power cut. Immediate transactions take the
// write lock at once: upgrading a read transaction later is what makes SQLite answer "busy"
// without waiting.
func settings(path string, readOnly bool) string {
	q := url.Values{}
	q.Add("_pragma", "busy_timeout(10000)")
	q.Add("_pragma", "foreign_keys(1)")
	q.Add("_pragma", "secure_delete(1)") // what was removed for good is overwritten, not only unlisted
	q.Set("_txlock", "immediate")
	if readOnly {
		q.Set("mode", "ro")
	} else {
		q.Add("_pragma", "journal_mode(WAL)")
		q.Add("_pragma", "synchronous(2)")
		q.Add("_pragma", "fullfsync(1)") // macOS: to the platter, not only to the drive; nothing elsewhere
	}
	u := url.URL{Scheme: "file", Path: filepath.ToSlash(path), RawQuery: q.Encode()}
	return u.String()
}

// Open opens the store in the file, makes it when there is none, and brings an older one up to
// today's schema. A store made by a newer program is an error of code Newer, a file of another
// kind one of code Damaged; neither is touched.
func Open(ctx context.Context, path string) (*Store, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, logbook.Wrap(logbook.Internal, err, "the path of the store cannot be read")
	}
	if err := inspect(ctx, path); err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", settings(path, false))
	if err != nil {
		return nil, trouble(err)
	}
	db.SetMaxOpenConns(8)
	if err := migrate(ctx, db); err != nil {
		db.Close()
		return nil, trouble(err)
	}
	return &Store{db: db, q: gen.New(db), path: path, turn: make(chan struct{}, 1)}, nil
}

// Close ends all connections; the last one folds the log into the file.
func (s *Store) Close() error { return trouble(s.db.Close()) }

// Path returns the absolute path of the database file.
func (s *Store) Path() string { return s.path }

// inspect looks at an existing file without changing it.
func inspect(ctx context.Context, path string) error {
	st, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) || (err == nil && st.Size() == 0) {
		return nil
	}
	if err != nil {
		return logbook.Wrap(logbook.Busy, err, "the store cannot be read")
	}
	db, err := sql.Open("sqlite", settings(path, true))
	if err != nil {
		return trouble(err)
	}
	defer db.Close()
	var tables int
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return trouble(err)
	}
	if tables == 0 {
		return nil
	}
	var version int64
	err = db.QueryRowContext(ctx, "SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied").Scan(&version)
	if err != nil {
		return logbook.Wrap(logbook.Damaged, err, "this file is a database, but not a Ringcraft store; it was not touched")
	}
	if latest := latestVersion(); version > latest {
		return logbook.Errorf(logbook.Newer, "this store was made by a newer Ringcraft (schema %d, this program knows up to %d); it was not touched. Use the newer program", version, latest)
	}
	return nil
}

func migrations() fs.FS {
	sub, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		panic(err) // the folder is embedded
	}
	return sub
}

// latestVersion is the newest schema this program knows.
func latestVersion() int64 {
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil || len(names) == 0 {
		panic("no migrations embedded")
	}
	v, err := goose.NumericComponent(names[len(names)-1])
	if err != nil {
		panic(err)
	}
	return v
}

func migrate(ctx context.Context, db *sql.DB) error {
	p, err := goose.NewProvider(goose.DialectSQLite3, db, migrations())
	if err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID))
	return err
}

// CopyTo writes a consistent copy of the whole store, as of one instant, to a new file while
// others go on reading and writing.
func (s *Store) CopyTo(ctx context.Context, path string) error {
	if _, err := os.Stat(path); err == nil {
		return logbook.Errorf(logbook.Conflict, "there is a file at the copy's place already")
	}
	_, err := s.db.ExecContext(ctx, "VACUUM INTO ?", path)
	return trouble(err)
}

// Check looks for damage inside the file and for references to records that are gone. It
// returns what it found in words, none when all is well.
func (s *Store) Check(ctx context.Context) ([]string, error) {
	found, err := s.strings(ctx, "PRAGMA integrity_check")
	if err != nil {
		return nil, err
	}
	if len(found) == 1 && found[0] == "ok" {
		found = nil
	}
	dangling, err := s.strings(ctx, `SELECT "table" || ' row points at a missing ' || parent FROM pragma_foreign_key_check`)
	return append(found, dangling...), err
}

func (s *Store) strings(ctx context.Context, query string) ([]string, error) {
	rows, err := s.db.QueryContext(ctx, query)
	if err != nil {
		return nil, trouble(err)
	}
	defer rows.Close()
	var out []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return nil, trouble(err)
		}
		out = append(out, line)
	}
	return out, trouble(rows.Err())
}

// BlobsInUse lists the recordings that rides refer to, by name.
func (s *Store) BlobsInUse(ctx context.Context) ([]string, error) {
	out, err := s.q.BlobsInUse(ctx)
	return out, trouble(err)
}
