package stiff

import "fmt"

// A decay with y' = -y falls to one half at t = ln 2 = 0.693147. The event is
// bracketed by a step, found in its continuous solution, and the step retaken
// so that it ends there with the accuracy of the method.
func ExampleSolver() {
	pattern, err := NewPattern([][]int{{0}})
	if err != nil {
		fmt.Println(err)
		return
	}
	solver, err := New(decay(), pattern, Options{RelTol: 1e-8, AbsTol: []float64{1e-10}})
	if err != nil {
		fmt.Println(err)
		return
	}
	err = solver.Reset(0, []float64{1})
	for err == nil && solver.State()[0] > 0.5 {
		err = solver.Step()
	}
	low, before := solver.Previous()
	start, y := low, before[0]
	high := solver.Time()
	for range 50 {
		if middle := (low + high) / 2; solver.At(0, middle) > 0.5 {
			low = middle
		} else {
			high = middle
		}
	}
	if err == nil {
		err = solver.Reset(start, []float64{y})
	}
	if err == nil {
		err = solver.Limit(high)
	}
	for err == nil && solver.Time() < high {
		err = solver.Step()
	}
	fmt.Printf("y(%.6f) = %.6f %v\n", solver.Time(), solver.State()[0], err)
	// Output: y(0.693147) = 0.500000 <nil>
}
