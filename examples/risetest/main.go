// Command risetest says what a recorded pressure rise after isolation proves:
// the verdict first, then the evidence, the leak with its interval in the units
// of the trade, what would settle an open question and how long the record
// should have run. A record that falls is read as a pull-down. Without arguments
// it judges an invented record; risetest -h explains every input.
package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"

	"example.com/drydown/examples/internal/phrase"
)

// Exit codes.
const (
	exitGood  = 0
	exitInput = 1 // bad input, or files that cannot be written
	exitUsage = 2
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// run is the whole program: arguments in, finding and exit code out.
func run(args []string, stdout, stderr io.Writer) int {
	complain := func(err error) {
		_, _ = fmt.Fprintln(stderr, "risetest:", phrase.OneLine(err.Error()))
	}
	in, err := parseFlags(args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		_, _ = fmt.Fprint(stdout, usage)
		return exitGood
	case err != nil:
		complain(fmt.Errorf("%w; -h explains every input", err))
		return exitUsage
	}
	q, err := in.load()
	if err != nil {
		complain(err)
		return exitInput
	}
	s := &sheet{w: stdout}
	var figures []figure
	if q.falls() {
		figures, err = q.pullDown(s)
	} else {
		figures, err = q.riseTest(s)
	}
	if err != nil {
		complain(err)
		return exitInput
	}
	s.heading("Cautions")
	s.list(phrase.Cautions())
	// The finding is printed by now, whatever becomes of the pictures.
	if err := saveAll(s, in.out, figures); err != nil {
		complain(err)
		return exitInput
	}
	return exitGood
}
