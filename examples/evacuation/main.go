// Command evacuation works out how procedures for drying and evacuating a
// refrigeration circuit compare, and what a recorded rise test shows. Without
// arguments it runs an invented scenario; evacuation -h explains every input.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"

	"example.com/drydown/examples/internal/phrase"
)

// Exit codes.
const (
	exitGood        = 0
	exitInput       = 1 // bad input, files that cannot be written, or a run that broke off
	exitUsage       = 2
	exitInterrupted = 130
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// run is the whole program: arguments in, report and exit code out.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	in, err := parseFlags(args, stdout)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return exitGood
	case err != nil:
		complain(stderr, fmt.Errorf("%w; -h explains every input", err))
		return exitUsage
	}
	q, err := in.load()
	if err != nil {
		complain(stderr, err)
		return exitInput
	}
	if err := makeDir(in.out); err != nil {
		complain(stderr, err)
		return exitInput
	}
	a, err := q.answer(ctx, newProgress(stderr))
	if err != nil {
		complain(stderr, err)
		return exitInput
	}
	// The report comes first, whatever becomes of the files.
	out, writeErr := a.write(in.out)
	if err := errors.Join(a.summary(out).text(stdout), writeErr); err != nil {
		complain(stderr, err)
		return exitInput
	}
	return a.exit(in.out, stderr)
}

// exit says on stderr why the work ended early, if it did.
func (a *answer) exit(out string, stderr io.Writer) int {
	switch {
	case a.stopped == nil:
		return exitGood
	case errors.Is(a.stopped, context.Canceled):
		complain(stderr, fmt.Errorf("interrupted; what was computed until then is above and in %s", out))
		return exitInterrupted
	}
	complain(stderr, fmt.Errorf("%w; what was computed until then is above and in %s", a.stopped, out))
	return exitInput
}

// complain prints an error in one line.
func complain(w io.Writer, err error) {
	_, _ = fmt.Fprintln(w, "evacuation:", phrase.OneLine(err.Error()))
}
