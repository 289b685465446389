package purge_test

import (
	"context"
	"fmt"
	"os"
	"time"

	"example.com/drydown/purge"
)

// readInvented reads a job of testdata; its numbers are invented.
func readInvented(name string) (*purge.Job, error) {
	file, err := os.Open("../testdata/jobs/" + name + ".json")
	if err != nil {
		return nil, err
	}
	defer func() { _ = file.Close() }()
	return purge.ReadJob(file)
}

// How far a time is known when the water and its heat supply are guesses.
func ExampleBands() {
	job, err := readInvented("split")
	if err != nil {
		fmt.Println(err)
		return
	}
	band, err := purge.Bands(context.Background(), job, &job.Procedures[0], &purge.BandOptions{Runs: 100, Stream: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, level := range []float64{0.05, 0.5, 0.95} {
		if t, ok := band.Time(level); ok {
			fmt.Printf("%2.0f %% of the runs are done within %.0f min\n", 100*level, t.Minutes())
		}
	}
	fmt.Println(band.Count(purge.Completed), "of", band.Made(), "completed")
	// Output:
	//  5 % of the runs are done within 36 min
	// 50 % of the runs are done within 44 min
	// 95 % of the runs are done within 65 min
	// 100 of 100 completed
}

// The fastest plan that leaves at most 0.1 g, and what warming the wet spot
// would buy instead.
func ExampleMakePlan() {
	job, err := readInvented("two-hoses")
	if err != nil {
		fmt.Println(err)
		return
	}
	plan, err := purge.MakePlan(context.Background(), job, purge.Goal{Water: 1e-4, Watch: 15 * time.Minute}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d breaks, %.0f min in all\n", plan.Best.Breaks, plan.Best.Took.Minutes())
	for _, rig := range plan.Rigs {
		if rig.Variant == "wet walls kept at 45 °C" {
			fmt.Printf("%s saves more than 5 min: %v\n", rig.Variant, plan.Best.Took-rig.Took > 5*time.Minute)
		}
	}
	// Output:
	// 0 breaks, 34 min in all
	// wet walls kept at 45 °C saves more than 5 min: true
}
