package purge

import (
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
	law, err := fitSaturation(o.Saturation)
	if err != nil {
		return nil, err
	}
	return moisture.Oil{Mass: o.Mass, WaterContent: o.Water, Law: law, Exchange: time.Duration(o.Exchange)}, nil
}
