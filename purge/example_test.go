package purge_test

import (
	"context"
	"fmt"
	"io"
	"os"

	"example.com/drydown/purge"
)

// printAnswer reads a job and prints how long each of its procedures takes and
// how much water it leaves.
func printAnswer(file io.Reader) error {
	job, err := purge.ReadJob(file)
	if err != nil {
		return err // one line: field, value, what is accepted
	}
	answer, err := purge.Compare(context.Background(), job, nil)
	for _, r := range answer.Records {
		fmt.Printf("%s: %.0f min, %.1f mg of water left\n", r.Procedure, r.Took().Minutes(), 1e6*r.WaterLeft())
	}
	return err
}

// A job file in, the answer out. The job's numbers are invented.
func ExampleCompare() {
	file, err := os.Open("../testdata/jobs/split.json")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = file.Close() }()
	if err := printAnswer(file); err != nil {
		fmt.Println(err)
	}
	// Output:
	// deep pull: 44 min, 0.1 mg of water left
}
