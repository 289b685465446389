package main

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"example.com/drydown/examples/internal/phrase"
)

// sheet is what the finding is printed on.
type sheet struct{ w io.Writer }

func (s *sheet) title(text string) {
	_, _ = fmt.Fprintf(s.w, "%s\n%s\n", text, strings.Repeat("=", utf8.RuneCountInString(text)))
}

func (s *sheet) heading(text string) {
	_, _ = fmt.Fprintf(s.w, "\n%s\n%s\n", text, strings.Repeat("-", utf8.RuneCountInString(text)))
}

// say prints a paragraph; empty text prints nothing.
func (s *sheet) say(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); text != "" {
		phrase.Wrap(s.w, "", "", text)
	}
}

func (s *sheet) list(items []string) {
	for _, item := range items {
		phrase.Wrap(s.w, "- ", "  ", item)
	}
}

// table prints rows in columns, the first row being the head.
func (s *sheet) table(rows [][]string) {
	width := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range rows {
		line := " "
		for i, cell := range row {
			line += " " + cell + strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell)+1)
		}
		_, _ = fmt.Fprintln(s.w, strings.TrimRight(line, " "))
	}
}
