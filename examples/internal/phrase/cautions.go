package phrase

// Cautions go with every report of work on a circuit.
func Cautions() []string {
	return []string{
		"Local codes, the equipment maker's instructions and licensed practice come first; this report replaces none of them.",
		"Nitrogen: cylinder fastened upright, pressure regulator and relief valve, never above the rating of the weakest part; never oxygen or compressed air, which can explode with oil. It displaces the air to breathe in closed rooms: ventilate.",
		"Recover the refrigerant before opening a circuit. Flammable refrigerants: no ignition source, ventilate, and purge before any flame.",
		"Switch off and lock out before working; never run a compressor or apply power to its terminals under vacuum. Pumps, brazed joints and discharge lines may be hot.",
	}
}
