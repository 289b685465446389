package purge

import (
	"fmt"
	"time"

	"example.com/drydown/moisture"
)

// store is the puddle as a water store.
func (p *JobPuddle) store() moisture.Store {
	return moisture.Puddle{
		Mass: p.Water, Area: p.Area, HeatSupply: p.Metal, Gap: p.Gap, Film: p.Film, Bore: p.Bore, Fade: p.Fade,
	}
}

// store is the oil as a water store.
func (o *JobOil) store() (moisture.Store, error) {
	if len(o.Saturation) != 2 {
		return nil, fmt.Errorf("saturation: %d points, two are needed", len(o.Saturation))
	}
	var points [2]moisture.SaturationPoint
	for i, s := range o.Saturation {
		points[i] = moisture.SaturationPoint{Temperature: s.Temperature, Content: s.Content}
	}
	law, err := moisture.FitSaturation(points[0], points[1])
	if err != nil {
		return nil, fmt.Errorf("saturation: %w", err)
	}
	return moisture.Oil{Mass: o.Mass, WaterContent: o.Water, Law: law, Exchange: time.Duration(o.Exchange)}, nil
}
