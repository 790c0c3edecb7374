package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"slices"

	"ringcraft/internal/logbook"
	"ringcraft/internal/sqlite/gen"
)

func sheet(r gen.Sheet) logbook.Sheet {
	return logbook.Sheet{ID: r.ID, Name: r.Name, Version: int(r.Version), Text: r.Text, Saved: unstamp(r.Saved), Invented: r.Invented != 0}
}

// Sheets lists the latest versions by name.
func (s *Store) Sheets(ctx context.Context) ([]logbook.Sheet, error) {
	rows, err := s.q.Sheets(ctx)
	out, err := many(rows, err, sheet)
	slices.SortFunc(out, func(a, b logbook.Sheet) int { return logbook.ByName(a.Name, a.ID, b.Name, b.ID) })
	return out, err
}

// Sheet finds the latest version.
func (s *Store) Sheet(ctx context.Context, id string) (logbook.Sheet, error) {
	r, err := s.q.Sheet(ctx, id)
	return one(r, err, "sheet", id, sheet)
}

// SheetVersion finds one version.
func (s *Store) SheetVersion(ctx context.Context, id string, version int) (logbook.Sheet, error) {
	r, err := s.q.SheetVersion(ctx, gen.SheetVersionParams{ID: id, Version: int64(version)})
	return one(r, err, "sheet", id, sheet)
}

// PutSheet adds the next version.
func (s *Store) PutSheet(ctx context.Context, sh logbook.Sheet) error {
	return s.write(ctx, func(s *Store) error {
		latest, err := s.q.LatestSheetVersion(ctx, sh.ID)
		if err != nil {
			return err
		}
		if int64(sh.Version) != latest+1 {
			return logbook.SheetChanged(sh.Name)
		}
		return s.q.AddSheet(ctx, gen.AddSheetParams{ID: sh.ID, Version: int64(sh.Version), Name: sh.Name, Text: sh.Text, Saved: stamp(sh.Saved), Invented: bit(sh.Invented)})
	})
}

// RemoveSheet removes a sheet that no ride uses.
func (s *Store) RemoveSheet(ctx context.Context, id string) error {
	return s.write(ctx, func(s *Store) error {
		n, err := s.q.CountRidesOfSheet(ctx, id)
		if err != nil {
			return err
		}
		if n > 0 {
			return logbook.SheetUsed()
		}
		if err := s.q.ForgetSheetOfAppointments(ctx, id); err != nil {
			return err
		}
		return s.q.RemoveSheet(ctx, id)
	})
}

func ride(r gen.Ride) logbook.Ride {
	return logbook.Ride{
		ID: r.ID, CombinationID: r.CombinationID, SheetID: r.SheetID, SheetVersion: int(r.SheetVersion),
		Date: logbook.Date(r.Date), Kind: logbook.RideKind(r.Kind), Place: r.Place, Recorder: r.Recorder, Rules: r.Rules,
		MarkedBy: r.MarkedBy, Taught: r.Taught != 0, Opened: unstamp(r.Opened), Closed: unstamp(r.Closed),
		Simulated: r.Simulated != 0, Made: unstamp(r.Made),
	}
}

func rideRow(r logbook.Ride) gen.PutRideParams {
	return gen.PutRideParams{
		ID: r.ID, CombinationID: r.CombinationID, SheetID: r.SheetID, SheetVersion: int64(r.SheetVersion),
		Date: string(r.Date), Kind: string(r.Kind), Place: r.Place, Recorder: r.Recorder, Rules: r.Rules,
		MarkedBy: r.MarkedBy, Taught: bit(r.Taught), Opened: stamp(r.Opened), Closed: stamp(r.Closed),
		Simulated: bit(r.Simulated), Made: stamp(r.Made),
	}
}

func file(r gen.RideFile) logbook.File {
	return logbook.File{Role: logbook.Role(r.Role), Seq: int(r.Seq), Blob: r.Blob, Name: r.Name, Media: r.Media, Size: r.Size, AtS: r.AtS, Added: unstamp(r.Added)}
}

func (s *Store) addFile(ctx context.Context, rideID string, f logbook.File) error {
	return s.q.AddRideFile(ctx, gen.AddRideFileParams{RideID: rideID, Role: string(f.Role), Seq: int64(f.Seq), Blob: f.Blob, Name: f.Name, Media: f.Media, Size: f.Size, AtS: f.AtS, Added: stamp(f.Added)})
}

// most is the limit of a list: all when none is asked for.
func most(limit int) int64 {
	if limit <= 0 {
		return -1
	}
	return int64(limit)
}

// Rides lists the newest first. The common question, the rides of one combination, has a query
// of its own that can use the index.
func (s *Store) Rides(ctx context.Context, f logbook.RideFilter) ([]logbook.Ride, error) {
	var rows []gen.Ride
	var err error
	if f.CombinationID != "" && f.SheetID == "" {
		rows, err = s.q.RidesOf(ctx, gen.RidesOfParams{CombinationID: f.CombinationID, Limit: most(f.Limit)})
	} else {
		rows, err = s.q.Rides(ctx, gen.RidesParams{Combination: f.CombinationID, Sheet: f.SheetID, Most: most(f.Limit)})
	}
	out, err := many(rows, err, ride)
	if err != nil {
		return nil, err
	}
	return out, s.fill(ctx, out)
}

// fill gives rides their files, a few hundred rides a query (SQLite bounds its arguments).
func (s *Store) fill(ctx context.Context, rides []logbook.Ride) error {
	at := make(map[string]int, len(rides))
	ids := make([]string, len(rides))
	for i, r := range rides {
		at[r.ID], ids[i] = i, r.ID
	}
	for part := range slices.Chunk(ids, 400) {
		rows, err := s.q.FilesOf(ctx, part)
		if err != nil {
			return trouble(err)
		}
		for _, r := range rows {
			i := at[r.RideID]
			rides[i].Files = append(rides[i].Files, file(r))
		}
	}
	return nil
}

// Ride finds one.
func (s *Store) Ride(ctx context.Context, id string) (logbook.Ride, error) {
	row, err := s.q.Ride(ctx, id)
	r, err := one(row, err, "ride", id, ride)
	if err != nil {
		return r, err
	}
	list := []logbook.Ride{r}
	err = s.fill(ctx, list)
	return list[0], err
}

// PutRide adds or replaces a ride with its files.
func (s *Store) PutRide(ctx context.Context, r logbook.Ride) error {
	return s.write(ctx, func(s *Store) error {
		if err := s.q.PutRide(ctx, rideRow(r)); err != nil {
			return err
		}
		if err := s.q.RemoveRideFiles(ctx, r.ID); err != nil {
			return err
		}
		for _, f := range r.Files {
			if err := s.addFile(ctx, r.ID, f); err != nil {
				return err
			}
		}
		return nil
	})
}

// AddFile adds one file to a ride, once.
func (s *Store) AddFile(ctx context.Context, rideID string, f logbook.File) error {
	return s.write(ctx, func(s *Store) error {
		if _, err := s.Ride(ctx, rideID); err != nil {
			return err
		}
		was, err := s.q.RideFile(ctx, gen.RideFileParams{RideID: rideID, Role: string(f.Role), Seq: int64(f.Seq)})
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return s.addFile(ctx, rideID, f)
		case err != nil:
			return err
		case was.Blob != f.Blob:
			return logbook.FileTaken(f)
		}
		return nil
	})
}

// RemoveRide removes a ride with its notes and results; lessons stay.
func (s *Store) RemoveRide(ctx context.Context, id string) error {
	return s.removing(ctx, func(q *gen.Queries) error { return q.RemoveRide(ctx, id) })
}

func note(r gen.Note) logbook.Note {
	return logbook.Note{
		ID: r.ID, RideID: r.RideID, Device: r.Device, Seq: r.Seq, Kind: logbook.NoteKind(r.Kind), Movement: int(r.Movement),
		Collective: r.Collective, Judge: r.Judge, Mark: r.Mark, Text: r.Text, Undoes: r.Undoes, AtS: r.AtS, Clock: r.Clock,
		Received: unstamp(r.Received),
	}
}

// Notes lists by device, then sequence.
func (s *Store) Notes(ctx context.Context, rideID string) ([]logbook.Note, error) {
	rows, err := s.q.Notes(ctx, rideID)
	return many(rows, err, note)
}

// AddNotes adds what is new, all or nothing, in one transaction.
func (s *Store) AddNotes(ctx context.Context, notes []logbook.Note) (int, error) {
	added := 0
	err := s.write(ctx, func(s *Store) error {
		for _, n := range notes {
			isNew, err := s.addNote(ctx, n)
			if err != nil {
				return err
			}
			added += int(bit(isNew))
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}

func (s *Store) addNote(ctx context.Context, n logbook.Note) (isNew bool, err error) {
	known, err := s.q.NoteKnown(ctx, n.ID)
	if err != nil || known > 0 {
		return false, err
	}
	taken, err := s.q.NoteTaken(ctx, gen.NoteTakenParams{RideID: n.RideID, Device: n.Device, Seq: n.Seq})
	if err != nil {
		return false, err
	}
	if taken > 0 {
		return false, logbook.NoteClash(n)
	}
	return true, s.q.AddNote(ctx, gen.AddNoteParams{
		ID: n.ID, RideID: n.RideID, Device: n.Device, Seq: n.Seq, Kind: string(n.Kind), Movement: int64(n.Movement),
		Collective: n.Collective, Judge: n.Judge, Mark: n.Mark, Text: n.Text, Undoes: n.Undoes, AtS: n.AtS, Clock: n.Clock,
		Received: stamp(n.Received),
	})
}
