package web

import (
	"net/http"

	"ringcraft/internal/access"
)

// Route is one address of the site and who may use it.
type Route struct {
	Method, Pattern string
	Rule            access.Rule
	// About says which ride or person a request is about, for rules that depend on it; nil:
	// nothing in particular. Its error is answered as the handler's would be.
	About   func(*server, *http.Request) (access.Thing, error)
	Handler func(*server, http.ResponseWriter, *http.Request) error
}

// Routes lists every route of the site itself; a test walks it as every role.
func Routes() []Route { return routes() }

// routes is the one table of addresses. Pages of one topic may keep their lines in a function of
// their own file and are appended here.
func routes() []Route {
	all := bookRoutes()
	all = append(all, editorRoutes()...)
	all = append(all, callerRoutes()...)
	all = append(all, railRoutes()...)
	all = append(all, showDayRoutes()...)
	all = append(all, moreRoutes()...)
	all = append(all, reportRoutes()...)
	all = append(all, recorderRoutes()...)
	all = append(all, workRoutes()...)
	return all
}

// What work that lasts is, as the title of its page.
const (
	reckoning = "Reckoning the ride"
	comparing = "Reckoning the two rides"
	keeping   = "Keeping the ride"
	adding    = "Adding to the ride"
)

// bookRoutes are the pages of the book itself.
func bookRoutes() []Route {
	return []Route{
		{"GET", "/{$}", access.TrainerDo, nil, (*server).yard},
		{"GET", "/assets/{sum}/{name}", access.Open, nil, (*server).asset},
		{"GET", "/favicon.ico", access.Open, nil, (*server).favicon},
		{"GET", "/sheets", access.TrainerDo, nil, (*server).sheets},
		{"GET", "/sheets/{id}", access.TrainerDo, nil, (*server).sheet},
		{"GET", "/combinations/new", access.TrainerDo, nil, (*server).combinationNew},
		{"POST", "/combinations", access.TrainerDo, nil, (*server).combinationSave},
		{"GET", "/combinations/{id}", access.TrainerDo, nil, (*server).combination},
		{"GET", "/combinations/{id}/rides/new", access.TrainerDo, nil, (*server).rideNew},
		{"POST", "/combinations/{id}/rides", access.TrainerDo, nil, (*server).rideSave},
		{"GET", "/combinations/{id}/lessons/new", access.TrainerDo, nil, (*server).lessonNew},
		{"POST", "/combinations/{id}/lessons", access.TrainerDo, nil, (*server).lessonSave},
		{"GET", "/rides/{id}", access.RideRead, aboutRide, lastingPage(reckoning, (*server).ride)},
		{"GET", "/rides/{id}/report.pdf", access.ReportRead, aboutRide, lastingPage(reckoning, (*server).rideReport)},
		{"GET", "/rides/{id}/files/{role}/{seq}", access.RideRead, aboutRide, (*server).rideFile},
		{"POST", "/rides/{id}/files", access.TrainerDo, nil, (*server).rideAddFiles},
		{"POST", "/rides/{id}/part", access.TrainerDo, nil, (*server).ridePartSave},
		{"GET", "/compare/{one}/{other}", access.TrainerDo, nil, lastingPage(comparing, (*server).compare)},
		{"GET", "/compare/{one}/{other}/unseen", access.TrainerDo, nil, lastingPage(comparing, (*server).unseen)},
		{"POST", "/compare/{one}/{other}/unseen", access.TrainerDo, nil, (*server).unseenSave},
		{"GET", "/combinations/{id}/trends", access.TrainerDo, nil, (*server).trends},
		{"GET", "/lessons/{id}", access.Homework, aboutLesson, (*server).lesson},
		{"GET", "/lessons/{id}/homework", access.Homework, aboutLesson, (*server).homework},
		{"GET", "/lessons/{id}/papers/{paper}", access.Homework, aboutLesson, (*server).lessonPaper},
		{"GET", "/lessons/{id}/run", access.TrainerDo, nil, (*server).lessonRun},
		{"POST", "/lessons/{id}/steps", access.TrainerDo, nil, (*server).lessonSteps},
		{"POST", "/lessons/{id}/replan", access.TrainerDo, nil, (*server).lessonReplan},
		{"POST", "/lessons/{id}/end", access.TrainerDo, nil, (*server).lessonEnd},
		{"GET", "/day", access.TrainerDo, nil, (*server).day},
		{"GET", "/day/{date}", access.TrainerDo, nil, (*server).day},
		{"POST", "/day/{date}", access.TrainerDo, nil, (*server).dayAdd},
		{"POST", "/day/{date}/{id}/remove", access.TrainerDo, nil, (*server).dayRemove},
		{"POST", "/yards", access.TrainerDo, nil, (*server).yardAdd},
	}
}

// guarded checks the rule, limits the body and runs the handler; its error becomes an answer.
func (s *server) guarded(route Route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, route.bodyLimit())
		r = withAsker(r, s.who(r))
		var thing access.Thing
		if route.About != nil {
			var err error
			if thing, err = route.About(s, r); err != nil {
				if hiddenFromStrangers(asker(r), err) {
					s.refuse(w, r, access.Allow(route.Rule, asker(r), thing))
					return
				}
				s.fail(w, r, err)
				return
			}
		}
		if d := access.Allow(route.Rule, asker(r), thing); !d.Allowed {
			s.refuse(w, r, d)
			return
		}
		if err := route.Handler(s, w, r); err != nil {
			s.fail(w, r, err)
		}
	})
}

// maxBody bounds every request body; forms with recordings are the largest. A form is held in
// memory while it is read, so what strangers may send is far less: a name, a password, a code.
const (
	maxBody         = 96 << 20
	maxStrangerBody = 16 << 10
)

func (r Route) bodyLimit() int64 {
	if r.Rule == access.Open {
		return maxStrangerBody
	}
	return maxBody
}

// aboutRide is Route.About for addresses with a ride's {id}.
func aboutRide(s *server, r *http.Request) (access.Thing, error) {
	ride, err := s.book.Ride(r.Context(), r.PathValue("id"))
	if err != nil {
		return access.Thing{}, err
	}
	c, err := s.book.Combination(r.Context(), ride.CombinationID)
	return access.Thing{RideID: ride.ID, RiderID: c.RiderID, Riding: ride.Riding()}, err
}

// aboutLesson is Route.About for addresses with a lesson's {id}.
func aboutLesson(s *server, r *http.Request) (access.Thing, error) {
	l, err := s.book.Lesson(r.Context(), r.PathValue("id"))
	if err != nil {
		return access.Thing{}, err
	}
	c, err := s.book.Combination(r.Context(), l.CombinationID)
	return access.Thing{RiderID: c.RiderID}, err
}
