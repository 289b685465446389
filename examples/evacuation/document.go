package main

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"example.com/drydown/examples/internal/phrase"
)

// document is a report that can be written as plain text or as Markdown.
type document struct{ blocks []block }

// block is one piece of a document; exactly one field is set.
type block struct {
	title   string // of the whole document
	heading string
	para    string
	list    []string
	table   *table
	figure  *figureRef
}

// table has a head and rows of the same length.
type table struct {
	head []string
	rows [][]string
}

// figureRef is a picture: its file beside the report and its data's, what it
// shows in a sentence and in full words, and the contents of both files.
type figureRef struct {
	file, csv  string
	alt, words string
	svg, data  []byte
}

func (d *document) title(s string)     { d.blocks = append(d.blocks, block{title: s}) }
func (d *document) heading(s string)   { d.blocks = append(d.blocks, block{heading: s}) }
func (d *document) table(t *table)     { d.blocks = append(d.blocks, block{table: t}) }
func (d *document) figure(f figureRef) { d.blocks = append(d.blocks, block{figure: &f}) }

// list adds a list; an empty one adds nothing.
func (d *document) list(s []string) {
	if len(s) > 0 {
		d.blocks = append(d.blocks, block{list: s})
	}
}

// say adds a paragraph; empty text adds nothing.
func (d *document) say(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); text != "" {
		d.blocks = append(d.blocks, block{para: text})
	}
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

// text writes the document for a terminal; figures are left out.
func (d *document) text(w io.Writer) error {
	var b strings.Builder
	for _, x := range d.blocks {
		switch {
		case x.title != "":
			fmt.Fprintf(&b, "%s\n%s\n", x.title, strings.Repeat("=", utf8.RuneCountInString(x.title)))
		case x.heading != "":
			fmt.Fprintf(&b, "\n%s\n%s\n", x.heading, strings.Repeat("-", utf8.RuneCountInString(x.heading)))
		case x.para != "":
			phrase.Wrap(&b, "", "", x.para)
		case x.list != nil:
			for _, item := range x.list {
				phrase.Wrap(&b, "- ", "  ", item)
			}
		case x.table != nil:
			x.table.text(&b)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// text writes columns aligned with blanks.
func (t *table) text(b *strings.Builder) {
	width := make([]int, len(t.head))
	for _, row := range append([][]string{t.head}, t.rows...) {
		for i, cell := range row {
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range append([][]string{t.head}, t.rows...) {
		line := " "
		for i, cell := range row {
			line += " " + cell + strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell)+1)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

// markdown writes the document for report.md.
func (d *document) markdown(w io.Writer) error {
	var b strings.Builder
	for _, x := range d.blocks {
		switch {
		case x.title != "":
			fmt.Fprintf(&b, "# %s\n\n", escape(x.title))
		case x.heading != "":
			fmt.Fprintf(&b, "## %s\n\n", escape(x.heading))
		case x.para != "":
			fmt.Fprintf(&b, "%s\n\n", escape(x.para))
		case x.list != nil:
			for _, item := range x.list {
				fmt.Fprintf(&b, "- %s\n", escape(item))
			}
			b.WriteString("\n")
		case x.table != nil:
			x.table.markdown(&b)
		case x.figure != nil:
			fmt.Fprintf(&b, "![%s](%s)\n\n[data of this picture](%s)\n\n", escape(x.figure.alt), x.figure.file, x.figure.csv)
		}
	}
	_, err := io.WriteString(w, strings.TrimRight(b.String(), "\n")+"\n")
	return err
}

func (t *table) markdown(b *strings.Builder) {
	line := func(cells []string) {
		for _, c := range cells {
			b.WriteString("| " + strings.ReplaceAll(escape(c), "|", "\\|") + " ")
		}
		b.WriteString("|\n")
	}
	line(t.head)
	b.WriteString(strings.Repeat("|---", len(t.head)) + "|\n")
	for _, row := range t.rows {
		line(row)
	}
	b.WriteString("\n")
}

// escape keeps names from a job from being read as Markdown or HTML.
func escape(s string) string {
	return strings.NewReplacer("<", "&lt;", "*", "\\*", "_", "\\_", "`", "\\`", "[", "\\[", "]", "\\]").Replace(phrase.OneLine(s))
}
