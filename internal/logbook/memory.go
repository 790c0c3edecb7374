package logbook

import (
	"context"
	"maps"
	"slices"
	"sort"
	"strings"
	"sync"
)

// Memory is a Store that forgets when the program ends: for tests and for looking around. It
// passes the same contract test as the store on disk.
type Memory struct {
	mu *sync.Mutex // shared with nobody; nil inside Atomically, where the lock is held already
	d  *memoryData
}

type memoryData struct {
	yards        map[string]Yard
	riders       map[string]Rider
	horses       map[string]Horse
	combinations map[string]Combination
	sheets       map[string][]Sheet // by version
	rides        map[string]Ride
	notes        map[string]Note
	lessons      map[string]Lesson
	steps        map[string]Step
	appointments map[string]Appointment
	consents     map[string]Consent
	exercises    map[string]OwnExercise
	computed     map[[2]string]Computed
	jobs         map[string]Job
}

// NewMemory returns an empty store in memory.
func NewMemory() *Memory {
	return &Memory{mu: &sync.Mutex{}, d: &memoryData{
		map[string]Yard{}, map[string]Rider{}, map[string]Horse{}, map[string]Combination{},
		map[string][]Sheet{}, map[string]Ride{}, map[string]Note{}, map[string]Lesson{},
		map[string]Step{}, map[string]Appointment{}, map[string]Consent{},
		map[string]OwnExercise{}, map[[2]string]Computed{}, map[string]Job{}}}
}

func (d *memoryData) clone() *memoryData {
	sheets := map[string][]Sheet{}
	for k, v := range d.sheets {
		sheets[k] = slices.Clone(v)
	}
	return &memoryData{
		maps.Clone(d.yards), maps.Clone(d.riders), maps.Clone(d.horses), maps.Clone(d.combinations),
		sheets, maps.Clone(d.rides), maps.Clone(d.notes), maps.Clone(d.lessons),
		maps.Clone(d.steps), maps.Clone(d.appointments), maps.Clone(d.consents),
		maps.Clone(d.exercises), maps.Clone(d.computed), maps.Clone(d.jobs)}
}

// Atomically works on a copy and keeps it when f agrees.
func (m *Memory) Atomically(_ context.Context, f func(Store) error) error {
	defer m.lock()()
	try := &Memory{d: m.d.clone()}
	if err := f(try); err != nil {
		return err
	}
	*m.d = *try.d
	return nil
}

// lock takes the lock unless it is held by Atomically, and returns how to give it back.
func (m *Memory) lock() func() {
	if m.mu == nil {
		return func() {}
	}
	m.mu.Lock()
	return m.mu.Unlock
}

// listed returns the values that keep agrees to, in the order of less.
func listed[K comparable, T any](m *Memory, from map[K]T, keep func(T) bool, less func(a, b T) int) []T {
	defer m.lock()()
	out := []T{}
	for _, v := range from {
		if keep == nil || keep(v) {
			out = append(out, v)
		}
	}
	slices.SortFunc(out, less)
	return out
}

func found[T any](m *Memory, from map[string]T, what, id string) (T, error) {
	defer m.lock()()
	v, ok := from[id]
	if !ok {
		return v, NoSuch(what, id)
	}
	return v, nil
}

func put[K comparable, T any](m *Memory, in map[K]T, id K, v T) error {
	defer m.lock()()
	in[id] = v
	return nil
}

// NoSuch is the error for a record that is not there.
func NoSuch(what, id string) error {
	return Errorf(NotFound, "there is no %s %q in the book", what, id)
}

// ByName compares as lists of people and horses are read: case ignored, then by id.
func ByName(nameA, idA, nameB, idB string) int {
	if c := strings.Compare(strings.ToLower(nameA), strings.ToLower(nameB)); c != 0 {
		return c
	}
	return strings.Compare(idA, idB)
}

// Yards lists by name.
func (m *Memory) Yards(context.Context) ([]Yard, error) {
	return listed(m, m.d.yards, nil, func(a, b Yard) int { return ByName(a.Name, a.ID, b.Name, b.ID) }), nil
}

// PutYard adds or replaces.
func (m *Memory) PutYard(_ context.Context, y Yard) error { return put(m, m.d.yards, y.ID, y) }

// RemoveYard removes the yard; combinations and appointments stay without one.
func (m *Memory) RemoveYard(_ context.Context, id string) error {
	defer m.lock()()
	delete(m.d.yards, id)
	for k, c := range m.d.combinations {
		if c.YardID == id {
			c.YardID = ""
			m.d.combinations[k] = c
		}
	}
	for k, a := range m.d.appointments {
		if a.YardID == id {
			a.YardID = ""
			m.d.appointments[k] = a
		}
	}
	return nil
}

// Riders lists by name.
func (m *Memory) Riders(context.Context) ([]Rider, error) {
	return listed(m, m.d.riders, nil, func(a, b Rider) int { return ByName(a.Name, a.ID, b.Name, b.ID) }), nil
}

// Rider finds one.
func (m *Memory) Rider(_ context.Context, id string) (Rider, error) {
	return found(m, m.d.riders, "rider", id)
}

// PutRider adds or replaces.
func (m *Memory) PutRider(_ context.Context, r Rider) error { return put(m, m.d.riders, r.ID, r) }

// RemoveRider removes the rider and all that belongs to the rider.
func (m *Memory) RemoveRider(_ context.Context, id string) error {
	defer m.lock()()
	delete(m.d.riders, id)
	for k, c := range m.d.consents {
		if c.RiderID == id {
			delete(m.d.consents, k)
		}
	}
	m.d.removeCombinations(func(c Combination) bool { return c.RiderID == id })
	return nil
}

// Horses lists by name.
func (m *Memory) Horses(context.Context) ([]Horse, error) {
	return listed(m, m.d.horses, nil, func(a, b Horse) int { return ByName(a.Name, a.ID, b.Name, b.ID) }), nil
}

// Horse finds one.
func (m *Memory) Horse(_ context.Context, id string) (Horse, error) {
	return found(m, m.d.horses, "horse", id)
}

// PutHorse adds or replaces.
func (m *Memory) PutHorse(_ context.Context, h Horse) error { return put(m, m.d.horses, h.ID, h) }

// RemoveHorse removes the horse and all that belongs to the horse.
func (m *Memory) RemoveHorse(_ context.Context, id string) error {
	defer m.lock()()
	delete(m.d.horses, id)
	m.d.removeCombinations(func(c Combination) bool { return c.HorseID == id })
	return nil
}

func (d *memoryData) removeCombinations(which func(Combination) bool) {
	for id, c := range d.combinations {
		if !which(c) {
			continue
		}
		delete(d.combinations, id)
		for k, r := range d.rides {
			if r.CombinationID == id {
				d.removeRide(k)
			}
		}
		for k, l := range d.lessons {
			if l.CombinationID == id {
				d.removeLesson(k)
			}
		}
		for k, a := range d.appointments {
			if a.CombinationID == id {
				delete(d.appointments, k)
			}
		}
	}
}

func (d *memoryData) removeRide(id string) {
	delete(d.rides, id)
	for k, n := range d.notes {
		if n.RideID == id {
			delete(d.notes, k)
		}
	}
	for k, l := range d.lessons {
		if l.RideID == id {
			l.RideID = ""
			d.lessons[k] = l
		}
	}
	maps.DeleteFunc(d.computed, func(k [2]string, _ Computed) bool { return k[1] == id })
	maps.DeleteFunc(d.jobs, func(_ string, j Job) bool { return j.Subject == id })
}

func (d *memoryData) removeLesson(id string) {
	delete(d.lessons, id)
	maps.DeleteFunc(d.steps, func(_ string, s Step) bool { return s.LessonID == id })
	for k, a := range d.appointments {
		if a.LessonID == id {
			a.LessonID = ""
			d.appointments[k] = a
		}
	}
}

// Combinations lists by id.
func (m *Memory) Combinations(context.Context) ([]Combination, error) {
	return listed(m, m.d.combinations, nil, func(a, b Combination) int { return strings.Compare(a.ID, b.ID) }), nil
}

// Combination finds one.
func (m *Memory) Combination(_ context.Context, id string) (Combination, error) {
	return found(m, m.d.combinations, "combination", id)
}

// PutCombination adds or replaces; rider and horse must be there.
func (m *Memory) PutCombination(_ context.Context, c Combination) error {
	defer m.lock()()
	if _, ok := m.d.riders[c.RiderID]; !ok {
		return Missing("combination")
	}
	if _, ok := m.d.horses[c.HorseID]; !ok {
		return Missing("combination")
	}
	m.d.combinations[c.ID] = c
	return nil
}

// Missing is the error for a record that points at one that is not in the book.
func Missing(what string) error {
	return Errorf(Invalid, "this %s names something that is not in the book (any more)", what)
}

// Sheets lists the latest versions by name.
func (m *Memory) Sheets(context.Context) ([]Sheet, error) {
	defer m.lock()()
	out := []Sheet{}
	for _, vs := range m.d.sheets {
		out = append(out, vs[len(vs)-1])
	}
	slices.SortFunc(out, func(a, b Sheet) int { return ByName(a.Name, a.ID, b.Name, b.ID) })
	return out, nil
}

// Sheet finds the latest version.
func (m *Memory) Sheet(_ context.Context, id string) (Sheet, error) {
	vs, err := found(m, m.d.sheets, "sheet", id)
	if err != nil {
		return Sheet{}, err
	}
	return vs[len(vs)-1], nil
}

// SheetVersion finds one version.
func (m *Memory) SheetVersion(_ context.Context, id string, version int) (Sheet, error) {
	vs, err := found(m, m.d.sheets, "sheet", id)
	if err != nil || version < 1 || version > len(vs) {
		return Sheet{}, NoSuch("sheet", id)
	}
	return vs[version-1], nil
}

// PutSheet adds the next version.
func (m *Memory) PutSheet(_ context.Context, s Sheet) error {
	defer m.lock()()
	vs := m.d.sheets[s.ID]
	if s.Version != len(vs)+1 {
		return SheetChanged(s.Name)
	}
	m.d.sheets[s.ID] = append(slices.Clone(vs), s)
	return nil
}

// SheetChanged is the error for saving a sheet over a version one has not seen.
func SheetChanged(name string) error {
	return Errorf(Conflict, "sheet %q was saved by somebody else meanwhile; look at that version first", name)
}

// RemoveSheet removes a sheet that no ride uses.
func (m *Memory) RemoveSheet(_ context.Context, id string) error {
	defer m.lock()()
	for _, r := range m.d.rides {
		if r.SheetID == id {
			return SheetUsed()
		}
	}
	delete(m.d.sheets, id)
	for k, a := range m.d.appointments {
		if a.SheetID == id {
			a.SheetID = ""
			m.d.appointments[k] = a
		}
	}
	return nil
}

// SheetUsed is the error for removing a sheet that was ridden.
func SheetUsed() error {
	return Errorf(Conflict, "this sheet was ridden; remove those rides first")
}

// Rides lists the newest first.
func (m *Memory) Rides(_ context.Context, f RideFilter) ([]Ride, error) {
	out := listed(m, m.d.rides, func(r Ride) bool {
		return (f.CombinationID == "" || r.CombinationID == f.CombinationID) && (f.SheetID == "" || r.SheetID == f.SheetID)
	}, func(a, b Ride) int { return newestFirst(a.Date, a.ID, b.Date, b.ID) })
	return cut(out, f.Limit), nil
}

func newestFirst(dateA Date, idA string, dateB Date, idB string) int {
	if c := strings.Compare(string(dateB), string(dateA)); c != 0 {
		return c
	}
	return strings.Compare(idB, idA)
}

func cut[T any](list []T, limit int) []T {
	if limit > 0 && len(list) > limit {
		return list[:limit]
	}
	return list
}

// Ride finds one.
func (m *Memory) Ride(_ context.Context, id string) (Ride, error) {
	return found(m, m.d.rides, "ride", id)
}

// PutRide adds or replaces; its combination and sheet version must be there.
func (m *Memory) PutRide(_ context.Context, r Ride) error {
	defer m.lock()()
	_, ok := m.d.combinations[r.CombinationID]
	if !ok || r.SheetVersion < 1 || r.SheetVersion > len(m.d.sheets[r.SheetID]) {
		return Missing("ride")
	}
	r.Files = sortedFiles(r.Files)
	m.d.rides[r.ID] = r
	return nil
}

func sortedFiles(in []File) []File {
	out := slices.Clone(in)
	sort.SliceStable(out, func(i, j int) bool {
		if out[i].Role != out[j].Role {
			return out[i].Role < out[j].Role
		}
		return out[i].Seq < out[j].Seq
	})
	return out
}

// AddFile adds one file to a ride, once.
func (m *Memory) AddFile(_ context.Context, rideID string, f File) error {
	defer m.lock()()
	r, ok := m.d.rides[rideID]
	if !ok {
		return NoSuch("ride", rideID)
	}
	for _, g := range r.Files {
		if g.Role == f.Role && g.Seq == f.Seq {
			if g.Blob == f.Blob {
				return nil
			}
			return FileTaken(f)
		}
	}
	r.Files = sortedFiles(append(slices.Clone(r.Files), f))
	m.d.rides[rideID] = r
	return nil
}

// FileTaken is the error for a second, different file in the same place.
func FileTaken(f File) error {
	return Errorf(Conflict, "the ride has another %s %d already", f.Role, f.Seq)
}

// RemoveRide removes a ride with its notes and results; lessons stay.
func (m *Memory) RemoveRide(_ context.Context, id string) error {
	defer m.lock()()
	m.d.removeRide(id)
	return nil
}
