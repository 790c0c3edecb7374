package backup

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path"
	"regexp"
	"strings"
	"time"

	"ringcraft/internal/logbook"
)

// Names inside a backup file, which is a plain tar archive.
const (
	manifestName  = "manifest.json"
	sumsName      = "SHA256SUMS"
	databaseName  = "database.sqlite"
	recordingsDir = "recordings/"
	endName       = "END"
	besideDir     = "recordings" // next to the archive: shared by daily backups

	formatName    = "ringcraft backup"
	formatVersion = 1
	mostManifest  = 256 << 20 // bytes; a manifest of a million recordings is about 150 MB
)

const aboutText = "This is a tar archive. database.sqlite is a SQLite 3 database with all records. " +
	"recordings/ holds every recorded file, byte for byte as it was given, named by its SHA-256. " +
	"SHA256SUMS lists them for 'sha256sum -c SHA256SUMS'. Files marked beside lie in the folder " +
	"recordings next to this archive. The file END closes the archive and holds this manifest's SHA-256."

// Manifest says what a backup holds; it is its first entry and can be read without Ringcraft.
type Manifest struct {
	Format  string    `json:"format"`
	Version int       `json:"version"`
	About   string    `json:"about"`
	Made    time.Time `json:"made"`
	Program string    `json:"program"`
	Schema  int64     `json:"schema"`
	// PhoneName is the name phones were paired with: what they still keep belongs to it.
	PhoneName string `json:"phone_name,omitempty"`
	Files     []Item `json:"files"`
	// Absent are recordings that the records name but that could not be read when the backup was made.
	Absent []Absent `json:"absent,omitempty"`
}

// Item is one file of a backup.
type Item struct {
	Path   string `json:"path"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
	Beside bool   `json:"beside,omitempty"`
}

// Absent is a recording a backup could not hold.
type Absent struct {
	SHA256 string `json:"sha256"`
	Why    string `json:"why"`
}

var hexName = regexp.MustCompile(`^[0-9a-f]{64}$`)

func (m *Manifest) encode() ([]byte, error) {
	b, err := json.MarshalIndent(m, "", " ")
	return append(b, '\n'), err
}

func (m *Manifest) sums() []byte {
	var b bytes.Buffer
	for _, f := range m.Files {
		fmt.Fprintf(&b, "%s  %s\n", f.SHA256, f.Path)
	}
	return b.Bytes()
}

// refuse makes the error of a backup that is not to be trusted.
func refuse(format string, args ...any) error {
	return logbook.Errorf(logbook.Damaged, "the backup is refused: "+format, args...)
}

// readManifest decodes and checks a manifest: format, version, and that every path is one of ours.
func readManifest(b []byte) (*Manifest, error) {
	var m Manifest
	if err := json.Unmarshal(b, &m); err != nil {
		return nil, refuse("its manifest cannot be read (%v)", err)
	}
	if m.Format != formatName {
		return nil, refuse("it was not made by Ringcraft (format %.40q)", m.Format)
	}
	if m.Version > formatVersion {
		return nil, logbook.Errorf(logbook.Newer, "the backup was made by a newer Ringcraft (backup format %d; this program reads up to %d): use that one", m.Version, formatVersion)
	}
	seen := map[string]bool{}
	for _, f := range m.Files {
		if err := f.check(); err != nil {
			return nil, err
		}
		if seen[f.Path] {
			return nil, refuse("%s is listed twice", f.Path)
		}
		seen[f.Path] = true
	}
	if !seen[databaseName] {
		return nil, refuse("it has no database")
	}
	return &m, nil
}

func (f Item) check() error {
	if f.Size < 0 || !hexName.MatchString(f.SHA256) {
		return refuse("the manifest's entry %.80q is not well formed", f.Path)
	}
	if f.Path == databaseName && !f.Beside {
		return nil
	}
	name, ok := strings.CutPrefix(f.Path, recordingsDir)
	if !ok || name != f.SHA256 || path.Clean(f.Path) != f.Path {
		return refuse("it holds %.80q, which no backup of ours does", f.Path)
	}
	return nil
}
