package vacuum_test

import (
	"math"

	"pgregory.net/rapid"

	"example.com/drydown/vacuum"
)

func pow(x, y float64) float64 { return math.Pow(x, y) }

// randomStores draws the stores of a node.
func randomStores(t *rapid.T, node int) []vacuum.PlacedStore { return nil }
