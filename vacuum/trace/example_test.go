package trace_test

import (
	"fmt"
	"os"
	"strings"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/trace"
)

func ExampleRead() {
	text := "time [s];pressure [micron]\n0;367,5\n10;OL\n20;368,0\n"
	log, err := trace.Read(strings.NewReader(text), trace.Options{Name: "shed.csv"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range log.Times {
		fmt.Printf("%2.0f s %6.1f micron %v\n", log.Times[i], log.Pressures[i].In(units.Micron), log.States[i])
	}
	fmt.Println(log.Issues)
	// Output:
	//  0 s  367.5 micron good
	// 10 s    0.0 micron over range
	// 20 s  368.0 micron good
	// [line 3: over range: OL]
}

func ExampleRead_missingUnit() {
	_, err := trace.Read(strings.NewReader("time [s],pressure [psi]\n0,1\n"), trace.Options{Name: "shed.csv"})
	fmt.Println(err)
	// Output:
	// shed.csv:1: column "pressure [psi]": unit "psi" is ambiguous, accepted psia or psig
}

func ExampleWrite() {
	log := trace.Log{Times: []float64{0, 10}, Pressures: []units.Pressure{40, 40.5}}
	if err := trace.Write(os.Stdout, log); err != nil {
		fmt.Println(err)
	}
	// Output:
	// t[s],p[Pa]
	// 0,40
	// 10,40.5
}
