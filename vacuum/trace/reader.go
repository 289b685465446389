package trace

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"example.com/drydown/units"
)

// maxIssues is how many issues are listed; of more, the last counts the rest.
const maxIssues = 1000

// maxSeconds and maxPascal bound what can be a time and a pressure, so that
// conversions stay finite.
const (
	maxSeconds = 1e12
	maxPascal  = 1e12
)

// Reader reads a log row by row in constant memory, well under 1 MB, whatever
// the length of the text. It is not safe for concurrent use.
type Reader struct {
	opts   Options
	layout *layout
	buf    *bufio.Reader
	line   int
	watch  watcher
	issues issueList
	err    error
	rows   int // expected, zero when unknown
}

// mostExpected bounds the rows that room is made for before they are read.
const mostExpected = 1 << 20

// sizeOf is the number of bytes that r holds, zero when it does not say.
func sizeOf(r io.Reader) int64 {
	switch v := r.(type) {
	case interface{ Len() int }:
		return int64(v.Len())
	case *os.File:
		if info, err := v.Stat(); err == nil && info.Mode().IsRegular() {
			return info.Size()
		}
	}
	return 0
}

// rowsIn is how many rows a text of the given size has if they are as long as
// those of the sample.
func rowsIn(size int64, sample []byte) int {
	ends := max(bytes.Count(sample, []byte{'\n'}), bytes.Count(sample, []byte{'\r'}))
	if size <= 0 || ends < 2 {
		return 0
	}
	return int(min(size*int64(ends)/int64(len(sample))+16, mostExpected))
}

// NewReader decides the format of r from its first 64 KiB. It answers a
// FormatError when the text is empty, UTF-16, has no header that names a time
// and a pressure, or when a unit is missing or not understood.
func NewReader(r io.Reader, opts Options) (*Reader, error) {
	if opts.StuckAfter == 0 {
		opts.StuckAfter = 30
	}
	if opts.StuckAfter < 2 {
		return nil, units.CheckRange("trace.NewReader", "StuckAfter", float64(opts.StuckAfter), 2, 1e9, "rows")
	}
	if err := checkDialect(opts); err != nil {
		return nil, err
	}
	if opts.Ambient != 0 {
		if err := units.CheckRange("trace.NewReader", "Ambient", float64(opts.Ambient), 1e4, 2e5, "Pa"); err != nil {
			return nil, err
		}
	}
	size := sizeOf(r) // before anything is read
	t := &Reader{opts: opts, buf: bufio.NewReaderSize(&sticky{r: r}, sampleSize)}
	zipped, err := t.unzip()
	if err != nil {
		return nil, t.fail(0, err)
	}
	sample, err := t.buf.Peek(sampleSize)
	whole, broken := err != nil, err
	if errors.Is(err, io.EOF) {
		broken = nil
	}
	if broken != nil && len(sample) == 0 {
		return nil, t.fail(0, broken)
	}
	mark := []byte("\ufeff")
	if bytes.HasPrefix(sample, mark) {
		sample = sample[len(mark):]
		_, _ = t.buf.Discard(len(mark)) // it is in the buffer
	}
	l, err := decide(sample, whole, opts)
	if err != nil && broken != nil {
		err = fmt.Errorf("%w; the text breaks off: %w", err, broken)
	}
	if err != nil {
		return nil, t.fail(0, err)
	}
	l.format.Gzip = zipped
	t.layout = l
	if !zipped {
		t.rows = rowsIn(size, sample)
	}
	t.issues.list = append(t.issues.list, l.preamble...)
	for t.line < l.first {
		if _, _, err := t.nextLine(); err != nil {
			return nil, t.fail(t.line, err)
		}
	}
	if l.timeForm == timeStamp && !l.stamps.zone && opts.Location == nil {
		t.issues.add(t.line+1, MissingZone, "time stamps have no zone, read as UTC")
	}
	t.watch.stuckAfter = opts.StuckAfter
	return t, nil
}

// checkDialect refuses a separator or decimal mark that no log has.
func checkDialect(opts Options) error {
	if opts.Separator != 0 && !strings.ContainsRune(separators, opts.Separator) {
		return fmt.Errorf("trace.NewReader: Separator = %q, accepted one of %q: %w", opts.Separator, separators, units.ErrOutOfRange)
	}
	if opts.DecimalMark != 0 && opts.DecimalMark != ',' && opts.DecimalMark != '.' {
		return fmt.Errorf("trace.NewReader: DecimalMark = %q, accepted ',' or '.': %w", opts.DecimalMark, units.ErrOutOfRange)
	}
	return nil
}

// unzip puts a gzip reader in front when the first two bytes say so.
func (t *Reader) unzip() (bool, error) {
	head, _ := t.buf.Peek(2)
	if len(head) < 2 || head[0] != 0x1f || head[1] != 0x8b {
		return false, nil
	}
	z, err := gzip.NewReader(t.buf)
	if err != nil {
		return true, err
	}
	t.buf = bufio.NewReaderSize(&sticky{r: z}, sampleSize)
	return true, nil
}

// sticky repeats the first error of a reader but the end, which may move on: a text that breaks off within the
// sample is decided on what came, and Next meets the same error after its rows.
type sticky struct {
	r   io.Reader
	err error
}

func (s *sticky) Read(p []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	n, err := s.r.Read(p)
	if err != nil && !errors.Is(err, io.EOF) {
		s.err = err
	}
	return n, err
}

func (t *Reader) fail(line int, err error) error {
	var at *lineError
	if errors.As(err, &at) {
		line = at.line
	}
	return &FormatError{Name: t.opts.Name, Line: line, Text: err.Error(), Need: needOf(err), cause: err}
}

// Format says how the text is understood.
func (t *Reader) Format() Format { return t.layout.format }

// Issues lists what was found so far, in the order of lines; at most 1000, the
// last of which then counts the rest.
func (t *Reader) Issues() []Issue { return t.issues.sorted() }

// nextLine returns the next line without its end, and whether it had one.
func (t *Reader) nextLine() (line []byte, ended bool, err error) {
	end := byte('\n')
	if t.layout.cr {
		end = '\r'
	}
	line, err = t.buf.ReadSlice(end)
	if errors.Is(err, bufio.ErrBufferFull) {
		return nil, false, fmt.Errorf("line longer than %d bytes", sampleSize)
	}
	if len(line) == 0 && err != nil {
		return nil, false, err
	}
	t.line++
	if err != nil {
		return line, false, nil // the error comes again with the next call
	}
	line = line[:len(line)-1]
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	return line, true, nil
}

// Next returns the next row. At the end of the text it answers io.EOF; a text
// that breaks off (a torn gzip stream, a failing medium) answers that error and
// the rows before it stand. A row that cannot be read still comes, with its
// State saying so, as long as its time is known.
func (t *Reader) Next() (Row, error) {
	if t.err != nil {
		return Row{}, t.err
	}
	for {
		line, ended, err := t.nextLine()
		if err != nil {
			t.finish(err)
			return Row{}, t.err
		}
		row, ok, err := t.parseLine(line, ended)
		if err != nil {
			t.err = t.fail(t.line, err)
			return Row{}, t.err
		}
		if ok {
			return row, nil
		}
	}
}

func (t *Reader) finish(err error) {
	t.watch.finish(&t.issues)
	t.err = io.EOF
	if !errors.Is(err, io.EOF) {
		t.err = t.fail(t.line+1, err)
	}
}

// Read reads a whole log. With an error it still returns the rows and issues up
// to that point. A log without a single usable reading is a FormatError.
func Read(r io.Reader, opts Options) (Log, error) {
	t, err := NewReader(r, opts)
	if err != nil {
		return Log{}, err
	}
	return t.readAll()
}

func (t *Reader) readAll() (Log, error) {
	var log Log
	if t.rows > 0 {
		log.grow(t.rows)
	}
	hasT, has2 := t.layout.at[temperatureColumn] >= 0, t.layout.at[secondColumn] >= 0
	var err error
	for {
		var row Row
		if row, err = t.Next(); err != nil {
			break
		}
		log.append(row, hasT, has2)
	}
	log.Start, log.Issues, log.Format = t.watch.start, t.Issues(), t.Format()
	if !errors.Is(err, io.EOF) {
		return log, err
	}
	if log.Len() == 0 {
		return log, t.fail(t.line, errors.New("no row of data below the header"))
	}
	if log.Usable() == 0 {
		return log, t.fail(0, t.nothingUsable(log.Len()))
	}
	return log, nil
}

// nothingUsable says why none of the rows of a log has a reading, by the first
// thing that was wrong with one.
func (t *Reader) nothingUsable(rows int) error {
	for _, is := range t.issues.sorted() {
		switch is.Kind {
		case SkippedLine, MissingZone, TimeGap, CrossedMidnight, StuckReading, NoLineEnd, OtherColumn:
			continue
		}
		return fmt.Errorf("no usable reading in %s; the first is in line %d: %s: %s", rowsText(rows), is.Line, is.Kind, is.Text)
	}
	return fmt.Errorf("no usable reading in %s", rowsText(rows))
}

func rowsText(n int) string {
	if n == 1 {
		return "1 row"
	}
	return fmt.Sprintf("%d rows", n)
}

// ReadFile reads the log in a file; Options.Name defaults to its path.
func ReadFile(path string, opts Options) (log Log, err error) {
	f, err := os.Open(path)
	if err != nil {
		return Log{}, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if opts.Name == "" {
		opts.Name = path
	}
	return Read(f, opts)
}
