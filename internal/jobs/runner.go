package jobs

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"ringcraft/internal/logbook"
)

// Work does one kind of job. It reports progress from 0 to 1 (-1 when it cannot say) with a few
// words, and returns soon after its context ends.
type Work func(ctx context.Context, subject string, report func(progress float64, message string)) error

// maxTries bounds how often a job is begun: one that takes the program down with it must not do
// so at every start.
const maxTries = 3

// reportEvery bounds how often progress is written, so that the store's one writer stays free.
const reportEvery = time.Second

// Config is what a Runner needs.
type Config struct {
	Store   logbook.JobStore
	Kinds   map[string]Work
	Workers int // 0: 1
	Now     func() time.Time
	NewID   func() string
	Log     *slog.Logger // nil: slog.Default
}

// Runner is logbook.Jobs inside this program.
type Runner struct {
	c      Config
	stop   context.CancelFunc
	ctx    context.Context
	wake   chan struct{}
	done   sync.WaitGroup
	mu     sync.Mutex
	queue  []logbook.Job
	cancel map[string]context.CancelFunc // of running jobs
}

var _ logbook.Jobs = (*Runner)(nil)

// errCancelled is the cause of a job that was cancelled by people, unlike one that the end of
// the program cut off.
var errCancelled = errors.New("cancelled")

// Start begins working off the store's jobs.
func Start(ctx context.Context, c Config) (*Runner, error) {
	if c.Workers <= 0 {
		c.Workers = 1
	}
	if c.Log == nil {
		c.Log = slog.Default()
	}
	left, err := c.Store.JobsOf(ctx, "")
	if err != nil {
		return nil, err
	}
	r := &Runner{c: c, wake: make(chan struct{}, c.Workers), cancel: map[string]context.CancelFunc{}}
	r.ctx, r.stop = context.WithCancel(context.WithoutCancel(ctx))
	slices.SortFunc(left, func(a, b logbook.Job) int { return cmp.Or(a.Made.Compare(b.Made), cmp.Compare(a.ID, b.ID)) })
	for _, j := range left {
		if err := r.takeUp(ctx, j); err != nil {
			r.stop()
			return nil, err
		}
	}
	for range c.Workers {
		r.done.Go(r.worker)
	}
	return r, nil
}

// takeUp queues a job that an earlier run of the program left, or gives it up.
func (r *Runner) takeUp(ctx context.Context, j logbook.Job) error {
	if j.Tries >= maxTries {
		j.State, j.Ended = logbook.JobFailed, r.c.Now()
		j.Message = fmt.Sprintf("given up: the program ended %d times while this was running", j.Tries)
		return r.c.Store.PutJob(ctx, j)
	}
	j.State, j.Message = logbook.JobWaiting, "taken up again after a stop"
	if err := r.c.Store.PutJob(ctx, j); err != nil {
		return err
	}
	r.push(j)
	return nil
}

// Stop cuts off running jobs and waits for them; they are taken up at the next start.
func (r *Runner) Stop() {
	r.stop()
	r.done.Wait()
}

// Start queues work of a kind about a subject, once.
func (r *Runner) Start(ctx context.Context, kind, subject string) (logbook.Job, error) {
	if r.c.Kinds[kind] == nil {
		return logbook.Job{}, logbook.Errorf(logbook.Invalid, "there is no background work %q set up here", kind)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	list, err := r.c.Store.JobsOf(ctx, subject)
	if err != nil {
		return logbook.Job{}, err
	}
	for _, j := range list {
		if j.Kind == kind && !j.State.Over() {
			return j, nil
		}
	}
	j := logbook.Job{ID: r.c.NewID(), Kind: kind, Subject: subject, State: logbook.JobWaiting, Progress: -1, Made: r.c.Now()}
	if err := r.c.Store.PutJob(ctx, j); err != nil {
		return logbook.Job{}, err
	}
	r.pushLocked(j)
	return j, nil
}

func (r *Runner) push(j logbook.Job) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.pushLocked(j)
}

func (r *Runner) pushLocked(j logbook.Job) {
	r.queue = append(r.queue, j)
	select {
	case r.wake <- struct{}{}:
	default: // every worker is awake or will look again
	}
}

// Cancel stops a job that waits or runs.
func (r *Runner) Cancel(ctx context.Context, id string) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if stop, running := r.cancel[id]; running {
		stop()
		return nil
	}
	for i, j := range r.queue {
		if j.ID == id {
			r.queue = slices.Delete(r.queue, i, i+1)
			j.State, j.Message, j.Ended = logbook.JobCancelled, "cancelled before it began", r.c.Now()
			return r.c.Store.PutJob(ctx, j)
		}
	}
	_, err := r.c.Store.Job(ctx, id)
	return err
}

func (r *Runner) worker() {
	for {
		j, ok := r.next()
		if ok {
			r.run(j)
			continue
		}
		select {
		case <-r.ctx.Done():
			return
		case <-r.wake:
		}
	}
}

func (r *Runner) next() (logbook.Job, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.ctx.Err() != nil || len(r.queue) == 0 {
		return logbook.Job{}, false
	}
	j := r.queue[0]
	r.queue = r.queue[1:]
	return j, true
}

// run does one job and writes down how it ended.
func (r *Runner) run(j logbook.Job) {
	ctx, cancel := context.WithCancelCause(r.ctx)
	defer cancel(nil)
	r.mu.Lock()
	r.cancel[j.ID] = func() { cancel(errCancelled) }
	r.mu.Unlock()
	defer func() {
		r.mu.Lock()
		delete(r.cancel, j.ID)
		r.mu.Unlock()
	}()
	j.State, j.Tries = logbook.JobRunning, j.Tries+1
	r.put(j)
	r.c.Log.Info("job begun", "kind", j.Kind, "subject", j.Subject, "tries", j.Tries)
	err := r.work(ctx, &j)
	cause := context.Cause(ctx)
	switch {
	case err == nil:
		j.State, j.Progress, j.Message = logbook.JobDone, 1, cmp.Or(j.Message, "done")
	case errors.Is(cause, errCancelled):
		j.State, j.Message = logbook.JobCancelled, "cancelled"
	case cause != nil: // the program ends: leave it to the next start, and do not count this try
		j.State, j.Tries, j.Message = logbook.JobWaiting, j.Tries-1, "cut off by a stop of the program"
		r.put(j)
		return
	default:
		j.State, j.Message = logbook.JobFailed, logbook.MessageOf(err)
		r.c.Log.Error("job failed", "kind", j.Kind, "subject", j.Subject, "error", err.Error())
	}
	j.Ended = r.c.Now()
	r.put(j)
	r.c.Log.Info("job ended", "kind", j.Kind, "subject", j.Subject, "state", string(j.State), "tries", j.Tries)
}

// work calls the job's Work; a panic in it fails the job, not the program.
func (r *Runner) work(ctx context.Context, j *logbook.Job) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v", p)
		}
	}()
	do := r.c.Kinds[j.Kind]
	if do == nil {
		return logbook.Errorf(logbook.Invalid, "there is no background work %q set up here", j.Kind)
	}
	var mu sync.Mutex
	var last time.Time
	return do(ctx, j.Subject, func(progress float64, message string) {
		mu.Lock()
		defer mu.Unlock()
		j.Progress, j.Message = progress, message
		if now := r.c.Now(); now.Sub(last) >= reportEvery {
			last = now
			r.put(*j)
		}
	})
}

// put writes a job's state. It must succeed after a cancel too, so it has a context of its own;
// a store that cannot be written is logged: there is nobody to tell.
func (r *Runner) put(j logbook.Job) {
	if err := r.c.Store.PutJob(context.WithoutCancel(r.ctx), j); err != nil {
		r.c.Log.Error("job state not written", "job", j.ID, "error", err.Error())
	}
}
