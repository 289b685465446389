package purge

import "example.com/drydown/moisture"

// store is the puddle as a water store.
func (p *JobPuddle) store() moisture.Store {
	return moisture.Puddle{
		Mass: p.Water, Area: p.Area, HeatSupply: p.Metal, Gap: p.Gap, Film: p.Film, Bore: p.Bore, Fade: p.Fade,
	}
}
