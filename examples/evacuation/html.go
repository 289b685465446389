package main

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html"
	"io"
	"regexp"
	"strings"

	"example.com/drydown/examples/internal/phrase"
)

// style of the page: one column that reads on a screen and prints on paper.
const style = `
:root { color-scheme: light; }
body { font: 16px/1.5 "Liberation Sans", Arial, Helvetica, sans-serif; color: #222; background: #fff; max-width: 60rem; margin: 0 auto; padding: 1.5rem; }
h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 1rem; }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; padding-top: .5rem; border-top: 1px solid #bbb; }
nav ul { columns: 2; padding-left: 1.2rem; }
a { color: #0b5394; }
.scroll { overflow-x: auto; margin: .75rem 0; }
table { border-collapse: collapse; font-size: .875rem; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: .25rem .75rem .25rem .25rem; border-bottom: 1px solid #ddd; }
thead th { border-bottom: 2px solid #222; }
tbody th { font-weight: normal; white-space: pre-wrap; }
figure { margin: 1rem 0; }
figure svg { display: block; width: 100%; height: auto; max-width: 48rem; }
figcaption, details { font-size: .875rem; max-width: 48rem; }
pre { white-space: pre-wrap; font: inherit; margin: .5rem 0; }
.cautions { border: 2px solid #222; padding: 0 1rem; margin-top: 2rem; }
.cautions h2 { border: 0; margin-top: .25rem; }
@page { margin: 15mm; }
@media print {
  body { font-size: 10pt; max-width: none; padding: 0; }
  nav, details, .data { display: none; }
  h2, p:has(+ .scroll), p:has(+ ul) { break-after: avoid; }
  tr, figure, .cautions, .short { break-inside: avoid; }
  thead { display: table-header-group; }
  .scroll { overflow: visible; }
  table { font-size: 8pt; }
  figure svg { max-width: 13cm; }
}
`

// figureAndUnit finds a number with its unit, which no line break may part.
var figureAndUnit = regexp.MustCompile(`(\d) (%|[a-zµ°][\pL³²/·°]*|NL|NmL|Pa|[A-Z]W?/?K?\b)`)

// inText makes text fit for the page.
func inText(s string) string {
	return html.EscapeString(figureAndUnit.ReplaceAllString(s, "$1\u00a0$2"))
}

// html writes the document as one page that needs nothing else: pictures and
// their data are inside.
func (d *document) html(w io.Writer) error {
	var b strings.Builder
	title := "drydown"
	if len(d.blocks) > 0 && d.blocks[0].title != "" {
		title = d.blocks[0].title
	}
	fmt.Fprintf(&b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" content=\"width=device-width\"/>\n<title>%s</title>\n<style>%s</style>\n</head>\n<body>\n<main>\n", html.EscapeString(title), style)
	open := false
	for i := range d.blocks {
		x := &d.blocks[i]
		if x.heading != "" {
			if open {
				b.WriteString("</section>\n")
			}
			open = true
			fmt.Fprintf(&b, "<section%s aria-labelledby=\"%s\">\n", cautionClass(x.heading), slug(x.heading))
		}
		x.html(&b)
		if x.title != "" {
			d.contents(&b)
		}
	}
	if open {
		b.WriteString("</section>\n")
	}
	b.WriteString("</main>\n</body>\n</html>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// cautionClass sets the cautions off.
func cautionClass(heading string) string {
	if heading == "Cautions" {
		return ` class="cautions"`
	}
	return ""
}

// contents lists the headings as links.
func (d *document) contents(b *strings.Builder) {
	b.WriteString("<nav aria-label=\"Contents\">\n<ul>\n")
	for _, x := range d.blocks {
		if x.heading != "" {
			fmt.Fprintf(b, "<li><a href=\"#%s\">%s</a></li>\n", slug(x.heading), html.EscapeString(x.heading))
		}
	}
	b.WriteString("</ul>\n</nav>\n")
}

// html writes one block.
func (x *block) html(b *strings.Builder) {
	switch {
	case x.title != "":
		fmt.Fprintf(b, "<h1>%s</h1>\n", inText(phrase.OneLine(x.title)))
	case x.heading != "":
		fmt.Fprintf(b, "<h2 id=\"%s\">%s</h2>\n", slug(x.heading), html.EscapeString(phrase.OneLine(x.heading)))
	case x.para != "":
		fmt.Fprintf(b, "<p>%s</p>\n", inText(phrase.OneLine(x.para)))
	case x.list != nil:
		b.WriteString("<ul>\n")
		for _, item := range x.list {
			fmt.Fprintf(b, "<li>%s</li>\n", inText(phrase.OneLine(item)))
		}
		b.WriteString("</ul>\n")
	case x.table != nil:
		x.table.html(b)
	case x.figure != nil:
		x.figure.html(b)
	}
}

// shortTable is how many rows a table may have that is kept on one sheet.
const shortTable = 15

// html writes a table; the first cell of a row is its head.
func (t *table) html(b *strings.Builder) {
	class := "scroll"
	if len(t.rows) <= shortTable {
		class += " short"
	}
	fmt.Fprintf(b, "<div class=\"%s\"><table>\n<thead><tr>", class)
	for _, c := range t.head {
		if c == "" {
			b.WriteString("<td></td>")
			continue
		}
		fmt.Fprintf(b, "<th scope=\"col\">%s</th>", inText(c))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, row := range t.rows {
		for i, c := range row {
			if i == 0 {
				fmt.Fprintf(b, "<tr><th scope=\"row\">%s</th>", inText(c))
				continue
			}
			fmt.Fprintf(b, "<td>%s</td>", inText(c))
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody></table></div>\n")
}

// html writes a picture with its caption, its words and its data.
func (f *figureRef) html(b *strings.Builder) {
	svg := f.svg
	if _, after, ok := bytes.Cut(svg, []byte("?>\n")); ok { // a page inside a page has no declaration
		svg = after
	}
	fmt.Fprintf(b, "<figure>\n%s\n<figcaption>%s <a class=\"data\" download=\"%s\" href=\"data:text/csv;base64,%s\">Data (CSV)</a></figcaption>\n",
		bytes.TrimSpace(svg), inText(f.alt), html.EscapeString(f.csv), base64.StdEncoding.EncodeToString(f.data))
	fmt.Fprintf(b, "<details><summary>The picture in words</summary><pre>%s</pre></details>\n</figure>\n", html.EscapeString(f.words))
}
