package vacuum_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/drydown/units"
	"example.com/drydown/vacuum"
)

func ExampleGasNamed() {
	for _, name := range []string{"R-744", "r410a", "Carbon Dioxide"} {
		g, err := vacuum.GasNamed(name)
		fmt.Printf("%s: %.2f g/mol, %s, %v\n", g.Name, float64(g.MolarMass)*1e3, g.Evidence, err)
	}
	// Output:
	// carbon dioxide: 44.01 g/mol, published, <nil>
	// R-410A: 72.59 g/mol, estimate, <nil>
	// carbon dioxide: 44.01 g/mol, published, <nil>
}

// ExampleLinearViscosity: the plain rule beside Wilke's where they differ most.
func ExampleLinearViscosity() {
	gases, half := []vacuum.Gas{vacuum.Helium(), vacuum.R134a()}, []units.MoleFraction{0.5, 0.5}
	wilke, _ := vacuum.WilkeViscosity(gases, half, units.Celsius(20))
	linear, _ := vacuum.LinearViscosity(gases, half, units.Celsius(20))
	fmt.Printf("Wilke %.1f µPa·s, linear %.1f µPa·s\n", float64(wilke)*1e6, float64(linear)*1e6)
	// Output: Wilke 13.5 µPa·s, linear 15.6 µPa·s
}

func TestEveryGasIsFoundByItsName(t *testing.T) {
	require.Len(t, vacuum.Gases(), 16)
	for _, g := range vacuum.Gases() {
		found, err := vacuum.GasNamed(g.Name)
		require.NoError(t, err)
		require.Equal(t, g.Name, found.Name)
	}
	_, err := vacuum.GasNamed("R-12")
	require.ErrorContains(t, err, "R-1234yf")
	_, err = vacuum.GasNamed("")
	require.Error(t, err)
}
