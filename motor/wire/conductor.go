package wire

// Conductor is a metal whose resistivity grows linearly with temperature.
type Conductor struct {
	// Resistivity is that at 20 °C [ohm m].
	Resistivity float64
	// Coefficient is the relative growth of resistivity per kelvin, referred to
	// 20 °C [1/K].
	Coefficient float64
	// Density is the mass per volume at 20 °C [kg/m3].
	Density float64
}

// Copper is annealed copper by IEC 60028: 1/58 Ω·mm²/m, 0.00393 /K, 8.89 g/cm³.
func Copper() Conductor { return Conductor{1e-6 / 58, 0.00393, 8890} }

// Silver has 1.59e-8 Ω·m and 0.0038 /K; 10490 kg/m³ (handbook figures, from
// memory).
func Silver() Conductor { return Conductor{1.59e-8, 0.0038, 10490} }

// At returns the resistivity [ohm m] at a temperature [K] (equation A6).
func (c Conductor) At(temperature float64) float64 {
	return c.Resistivity * (1 + c.Coefficient*(temperature-reference))
}

const reference = 293.15 // 20 °C [K]

// Resistance returns the resistance [ohm] of a length [m] of wire with a copper
// cross-section [m2] at a temperature [K] (equation A6).
func Resistance(length, area, temperature float64) float64 {
	return Copper().At(temperature) * length / area
}
