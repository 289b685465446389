package follow_test

import (
	"fmt"
	"time"

	"example.com/drydown/units"
	"example.com/drydown/vacuum/rise/follow"
)

func ExampleFollower() {
	f, err := follow.New(follow.Config{
		Volume: 8 * units.Litre, SiteTemperature: units.Celsius(20), LeakLimit: 2e-5,
		Resolution: units.Micron,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range 180 {
		at := time.Duration(i) * 10 * time.Second
		p := 40 + 0.02*at.Seconds() + 0.05*float64(i*i%7) // 0.02 Pa/s in 8 L
		if err := f.Add(at, units.Pressure(p)); err != nil {
			fmt.Println(err)
		}
	}
	s := f.Verdict()
	fmt.Printf("%v, %.1e Pa·m³/s\n", s.Verdict, float64(s.Best))
	// Output: leak, 1.6e-04 Pa·m³/s
}
