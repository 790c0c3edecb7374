package web

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"maps"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"ringcraft/internal/access"
	"ringcraft/internal/logbook"
)

// Work on a long recording can last. A request that does is answered with a page that says how far it is and
// can be cancelled; the work goes on behind it and its answer is given when it is there. It is kept in memory
// only: nothing of it was acknowledged, and what the end of the program cuts off was not stored.
const (
	patience   = time.Second      // that a request may last before it becomes such a page
	keptFor    = 10 * time.Minute // that an answer nobody fetched is kept
	mostAtOnce = 16               // works under way; further requests are answered the plain way
	fresh      = 10 * time.Second // that the answer to a reader is given to who asks again: older ones may be out of date
	cancelWait = 2 * time.Second  // that a cancelled work is waited for before its page is shown
)

// work is one request that lasts.
type work struct {
	id, url, what, back string
	read                bool // asks for a page and changes nothing, so that whoever asks again joins it
	who                 access.Who
	cancel              context.CancelFunc
	done                chan struct{} // closed when answer is there

	mu        sync.Mutex
	stage     string
	share     float64
	cancelled bool
	answer    *answer
	ended     time.Time
}

// answer is a response that was not sent yet.
type answer struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (a *answer) Header() http.Header         { return a.header }
func (a *answer) Write(p []byte) (int, error) { a.WriteHeader(http.StatusOK); return a.body.Write(p) }
func (a *answer) WriteHeader(status int) {
	if a.status == 0 {
		a.status = status
	}
}

// send gives the answer.
func (a *answer) send(w http.ResponseWriter) {
	maps.Copy(w.Header(), a.header)
	w.WriteHeader(cmp.Or(a.status, http.StatusOK))
	w.Write(a.body.Bytes()) // the reader may have gone
}

// works are the works of a site.
type works struct {
	mu   sync.Mutex
	list map[string]*work
	// alive ends with the program; beside runs what must end before the store is closed.
	alive  context.Context
	beside func(func())
	wait   time.Duration
}

func newWorks(c Config) *works {
	ws := &works{list: map[string]*work{}, alive: c.Alive, beside: c.Beside, wait: c.Patience}
	if ws.alive == nil {
		ws.alive = context.Background()
	}
	if ws.beside == nil {
		ws.beside = func(f func()) { go f() }
	}
	if ws.wait == 0 {
		ws.wait = patience
	}
	return ws
}

// begin puts a new work on the list; nil when there are too many.
func (ws *works) begin(k *work) *work {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	running := 0
	for id, o := range ws.list {
		switch ended := o.endedAt(); {
		case ended.IsZero():
			running++
		case time.Since(ended) > keptFor:
			delete(ws.list, id)
		}
	}
	if running >= mostAtOnce {
		return nil
	}
	ws.list[k.id] = k
	return k
}

// same finds the work that already reads what is asked for.
func (ws *works) same(url string, who access.Who) *work {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	for _, k := range ws.list {
		if ended := k.endedAt(); k.read && k.url == url && k.who == who && (ended.IsZero() || time.Since(ended) < fresh) {
			return k
		}
	}
	return nil
}

func (ws *works) get(id string) *work {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	return ws.list[id]
}

func (ws *works) drop(k *work) {
	ws.mu.Lock()
	defer ws.mu.Unlock()
	delete(ws.list, k.id)
}

// lastingPage makes a page that only reads one that may last.
func lastingPage(what string, h func(*server, http.ResponseWriter, *http.Request) error) func(*server, http.ResponseWriter, *http.Request) error {
	return func(s *server, w http.ResponseWriter, r *http.Request) error {
		return s.lasting(w, r, what, func(w http.ResponseWriter, r *http.Request) error { return h(s, w, r) })
	}
}

// lasting runs what is left of a request, whose body was read, so that it may last.
func (s *server) lasting(w http.ResponseWriter, r *http.Request, what string, h func(http.ResponseWriter, *http.Request) error) error {
	if r.Method == http.MethodHead || !strings.Contains(r.Header.Get("Accept"), "text/html") {
		return h(w, r) // nobody who could look at a page
	}
	read := r.Method == http.MethodGet
	k := (*work)(nil)
	if read {
		k = s.works.same(r.URL.RequestURI(), asker(r))
	}
	if k == nil {
		k = s.works.begin(&work{id: rand.Text(), url: r.URL.RequestURI(), what: what, back: backOf(r), read: read, who: asker(r), done: make(chan struct{})})
		if k == nil {
			return h(w, r)
		}
		s.run(k, r, h)
	}
	t := time.NewTimer(s.works.wait)
	defer t.Stop()
	select {
	case <-k.done:
		s.works.drop(k)
		k.answer.send(w)
	case <-t.C:
		http.Redirect(w, r, "/underway/"+k.id, http.StatusSeeOther)
	case <-r.Context().Done(): // the reader went away; the work goes on
	}
	return nil
}

// run does the work behind the request.
func (s *server) run(k *work, r *http.Request, h func(http.ResponseWriter, *http.Request) error) {
	ctx, cancel := context.WithCancel(context.WithoutCancel(r.Context()))
	stop := context.AfterFunc(s.works.alive, cancel)
	k.cancel = cancel
	ctx = logbook.WithProgress(ctx, k.tell)
	s.works.beside(func() {
		defer stop()
		defer cancel()
		a := &answer{header: http.Header{}}
		s.answer(a, r.WithContext(ctx), h)
		k.mu.Lock()
		k.answer, k.ended = a, time.Now()
		k.mu.Unlock()
		close(k.done)
	})
}

// answer runs a handler into an answer; a panic in it fails the work, not the program.
func (s *server) answer(a *answer, r *http.Request, h func(http.ResponseWriter, *http.Request) error) {
	defer func() {
		if p := recover(); p != nil {
			a.body.Reset()
			a.status = 0
			s.fail(a, r, logbook.Errorf(logbook.Internal, "panic: %v", p))
		}
	}()
	if err := h(a, r); err != nil {
		s.fail(a, r, err)
	}
}

// endedAt is when the answer was there, zero before.
func (k *work) endedAt() time.Time {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.ended
}

func (k *work) tell(stage string, share float64) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.stage, k.share = stage, share
}

// state is how far a work is. Done: its answer is there; Cancelled: there will be none.
type workState struct {
	Stage     string  `json:"stage"`
	Percent   float64 `json:"percent"`
	Done      bool    `json:"done"`
	Cancelled bool    `json:"cancelled"`
	Go        string  `json:"go,omitempty"` // where the answer leads; "" where it is a page of its own
}

func (k *work) state() workState {
	k.mu.Lock()
	defer k.mu.Unlock()
	s := workState{Stage: k.stage, Percent: float64(int(100 * k.share)), Done: k.answer != nil, Cancelled: k.cancelled && (k.answer == nil || k.answer.status == 0)}
	switch {
	case s.Cancelled || !s.Done:
	case k.read:
		s.Go = k.url
	default:
		s.Go = k.answer.header.Get("Location")
	}
	return s
}

// backOf is the page that asked, when it was one of ours.
func backOf(r *http.Request) string {
	u, err := url.Parse(r.Referer())
	if err != nil || u.Host != r.Host || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.HasPrefix(u.Path, "/underway/") {
		return "/"
	}
	return u.RequestURI()
}

// workRoutes are the pages of what lasts. Whoever began a work may see and cancel it, nobody else: its rule is
// that of the page that it is for.
func workRoutes() []Route {
	return []Route{
		{"GET", "/underway/{work}", access.Open, nil, (*server).workPage},
		{"POST", "/underway/{work}/cancel", access.Open, nil, (*server).workCancel},
	}
}

// workView is a work under way, or cancelled.
type workView struct {
	page
	ID, Stage, Home string
	Percent         float64
	Cancelled       bool
}

// workWords is a stage as a sentence.
func workWords(stage string) string {
	if stage == "" {
		return "It has begun."
	}
	return strings.ToUpper(stage[:1]) + stage[1:] + "."
}

// workOf finds the work that a request is about.
func (s *server) workOf(r *http.Request) (*work, error) {
	k := s.works.get(r.PathValue("work"))
	if k == nil || k.who != asker(r) || k.who.Role == access.Nobody {
		return nil, logbook.Errorf(logbook.NotFound, "this work is over, or it was cut off by a stop of the program; what was not finished was not stored")
	}
	return k, nil
}

// workPage shows how far a work is, or gives its answer.
func (s *server) workPage(w http.ResponseWriter, r *http.Request) error {
	k, err := s.workOf(r)
	if err != nil {
		return err
	}
	st := k.state()
	switch {
	case wantsJSON(r):
		return s.renderJSON(w, r, http.StatusOK, st)
	case st.Cancelled: // kept a while: its page may be asked for again
	case st.Done && k.read: // the page itself takes the answer
		http.Redirect(w, r, st.Go, http.StatusSeeOther)
		return nil
	case st.Done:
		s.works.drop(k)
		k.answer.send(w)
		return nil
	}
	v := workView{page: s.newPage(r, "", k.what), ID: k.id, Stage: st.Stage, Percent: st.Percent, Cancelled: st.Cancelled, Home: k.back}
	if !st.Cancelled {
		v.Scripts, v.Again = []string{"work.js"}, 2
	}
	return s.render(w, r, http.StatusOK, workTemplate(v))
}

// workCancel stops a work and waits a moment for it to end.
func (s *server) workCancel(w http.ResponseWriter, r *http.Request) error {
	k, err := s.workOf(r)
	if err != nil {
		return err
	}
	k.mu.Lock()
	k.cancelled = true
	k.mu.Unlock()
	k.cancel()
	t := time.NewTimer(cancelWait)
	defer t.Stop()
	select {
	case <-k.done:
	case <-t.C:
	}
	http.Redirect(w, r, "/underway/"+k.id, http.StatusSeeOther)
	return nil
}
