package main

import (
	"bytes"
	_ "embed"

	"example.com/drydown/purge"
	"example.com/drydown/vacuum/trace"
)

// The embedded scenario: place, equipment, every number and the rise record are
// invented, as the job's note says.
var (
	//go:embed scenario.json
	scenarioJob []byte
	//go:embed rise.csv
	scenarioLog []byte
)

// scenario reads the embedded job and its rise record.
func scenario() (*purge.Job, *trace.Log, error) {
	job, err := purge.ReadJob(bytes.NewReader(scenarioJob))
	if err != nil {
		return nil, nil, err
	}
	log, err := trace.Read(bytes.NewReader(scenarioLog), trace.Options{Name: "embedded rise record"})
	if err != nil {
		return nil, nil, err
	}
	return job, &log, nil
}
