package trace_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"

	"example.com/drydown/vacuum/trace"
)

// BenchmarkRead prints the speed of reading relative to encoding/csv alone on
// the same bytes, as it is used by default ("speed/csv"; 1 is as fast) and with
// ReuseRecord set ("speed/csv-reuse").
func BenchmarkRead(b *testing.B) {
	texts := map[string][]byte{"elapsed": elapsedText(20000), "stamps": stampText(20000)}
	for _, name := range []string{"elapsed", "stamps"} {
		text := texts[name]
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := trace.Read(bytes.NewReader(text), trace.Options{}); err != nil {
					b.Fatal(err)
				}
			}
			ours := b.Elapsed().Seconds() / float64(b.N)
			b.ReportMetric(csvSeconds(b, text, false)/ours, "speed/csv")
			b.ReportMetric(csvSeconds(b, text, true)/ours, "speed/csv-reuse")
		})
	}
}

// BenchmarkNext is BenchmarkRead row by row, without keeping the log.
func BenchmarkNext(b *testing.B) {
	text := elapsedText(20000)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		r, err := trace.NewReader(bytes.NewReader(text), trace.Options{})
		for err == nil {
			_, err = r.Next()
		}
		if !errors.Is(err, io.EOF) {
			b.Fatal(err)
		}
	}
	ours := b.Elapsed().Seconds() / float64(b.N)
	b.ReportMetric(csvSeconds(b, text, false)/ours, "speed/csv")
	b.ReportMetric(csvSeconds(b, text, true)/ours, "speed/csv-reuse")
}

// csvSeconds times encoding/csv on text, the best of several passes.
func csvSeconds(b *testing.B, text []byte, reuse bool) float64 {
	best := time.Duration(1 << 62)
	for range 20 {
		start := time.Now()
		r := csv.NewReader(bytes.NewReader(text))
		r.ReuseRecord = reuse
		for {
			_, err := r.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
		}
		best = min(best, time.Since(start))
	}
	return best.Seconds()
}

func elapsedText(rows int) []byte {
	var b bytes.Buffer
	b.WriteString("time [s],pressure [micron]\n")
	for i := range rows {
		fmt.Fprintf(&b, "%d,%.3f\n", i, 300+float64(i%977)/7)
	}
	return b.Bytes()
}

func stampText(rows int) []byte {
	var b bytes.Buffer
	b.WriteString("time,pressure [mbar]\n")
	start := time.Date(2026, 6, 18, 14, 0, 0, 0, time.UTC)
	for i := range rows {
		fmt.Fprintf(&b, "%s,%.6f\n", start.Add(time.Duration(i)*time.Second).Format(time.RFC3339), 0.3+float64(i%977)/7000)
	}
	return b.Bytes()
}
