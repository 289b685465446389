package purge_test

import (
	"context"
	"fmt"
	"log"
	"os"

	"example.com/drydown/purge"
)

// A job file in, the answer out: how long, how much water is left, which is
// better. The job's numbers are invented.
func ExampleCompare() {
	file, err := os.Open("../testdata/jobs/split.json")
	if err != nil {
		log.Fatal(err)
	}
	defer file.Close()
	job, err := purge.ReadJob(file)
	if err != nil {
		log.Fatal(err) // one line: field, value, what is accepted
	}
	answer, err := purge.Compare(context.Background(), job, nil)
	if err != nil {
		log.Fatal(err)
	}
	for _, r := range answer.Records {
		fmt.Printf("%s: %.0f min, %.1f mg of water left\n", r.Procedure, r.Took().Minutes(), 1e6*r.WaterLeft())
	}
	// Output:
	// deep pull: 44 min, 0.2 mg of water left
}
