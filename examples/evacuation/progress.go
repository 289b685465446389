package main

import (
	"fmt"
	"io"
	"sync"
	"time"

	"example.com/drydown/examples/internal/phrase"
)

// progress tells a person on w what a long run is doing, at most every two
// seconds and not before the run has taken that long. It is safe for concurrent
// use.
type progress struct {
	mu    sync.Mutex
	w     io.Writer
	every time.Duration
	last  time.Time
}

const progressEvery = 2 * time.Second

func newProgress(w io.Writer) *progress {
	return &progress{w: w, every: progressEvery, last: time.Now()}
}

// step hears about a procedure under way.
func (p *progress) step(step int, title string, at time.Duration) {
	p.say("step %d (%s), %s on the procedure's clock", step, title, phrase.Took(at))
}

// during says every while that something is still under way, until the function
// that it returns is called.
func (p *progress) during(format string, args ...any) func() {
	began, done := time.Now(), make(chan struct{})
	go func() {
		tick := time.NewTicker(progressEvery)
		defer tick.Stop()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				p.say(format+", %.0f s", append(append([]any(nil), args...), time.Since(began).Seconds())...)
			}
		}
	}()
	return func() { close(done) }
}

// say prints a line when it is time for one.
func (p *progress) say(format string, args ...any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if time.Since(p.last) < p.every {
		return
	}
	p.last = time.Now()
	_, _ = fmt.Fprintf(p.w, "... "+format+"\n", args...)
}

// counter is a callback that says how many of something are done.
func (p *progress) counter(what string) func(done, of int) {
	return func(done, of int) { p.say("%s %d of %d", what, done, of) }
}
