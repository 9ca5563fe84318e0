package quantity

import "math"

// Kind says what sort of quantity a number is: a length, a mass, a share. It
// decides which units are accepted and in which one a value is shown.
type Kind int

// The kinds of quantity that a build has. The comment gives the SI unit of the
// value and an example as it stands in a file.
const (
	Number            Kind = iota // [1], "1.05"
	Count                         // whole number [1], "28"
	Share                         // [1], "12 %"
	Length                        // [m], "350 mm"
	Area                          // [m2], "20 mm2"
	Volume                        // [m3], "1.0 cm3"
	Mass                          // [kg], "26 g"
	Force                         // [N], "5 N"
	Torque                        // [N m], "3.5 mN m"
	Energy                        // [J], "45 mJ"
	Angle                         // [rad], "120 deg"
	Time                          // [s], "1 ms"
	Rate                          // [1/s], "20 /s"
	Velocity                      // [m/s], "400 ft/s"
	AngularSpeed                  // [rad/s], "32000 rpm"
	Voltage                       // [V], "0.30 V"
	Current                       // [A], "25 A"
	Resistance                    // [ohm], "9 mohm"
	Inductance                    // [H], "66 uH"
	Charge                        // [C], "1300 mAh"
	Inertia                       // [kg m2], "12 g cm2"
	ViscousDrag                   // [N m s/rad], "2e-6 N m s"
	FluxDensity                   // [T], "1.18 T"
	FieldStrength                 // [A/m], "955 kA/m"
	Temperature                   // [K], "20 degC"
	Drift                         // [1/K], "-0.12 %/K"
	HeatCapacity                  // [J/K], "12 J/K"
	ThermalResistance             // [K/W], "3.5 K/W"
	SpringRate                    // [N/m], "680 N/m"
	Pressure                      // [Pa], "101.325 kPa"
	Stress                        // [Pa], "0.9 GPa"
	MeltingIntegral               // [A2 s], "600 A2 s"
	MolarEnergy                   // [J/mol], "20 kJ/mol"
	WireSize                      // diameter [m], "0.65 mm" or "22 AWG"
	Gauge                         // number of the gauge [1], "16 AWG"
	Ratio                         // of gears [1], "10.44" or "18:1"
	Rating                        // capacities per hour [1], "25" or "25C"
	Power                         // [W], "250 W"
	Flux                          // [V s], "3.6 mV s" or "70 uWb"
	kinds                         // how many there are
)

// Holds tells whether a number can be one of the kind: it is finite, a count is whole,
// and a gauge one that there is. What a part makes of it, its Validate says.
func (k Kind) Holds(v float64) bool {
	switch k {
	case Count:
		return math.Abs(v) <= mostCount && v == math.Trunc(v)
	case Gauge:
		return v >= thickestGauge && v <= thinnestGauge && v == math.Trunc(v)
	}
	return Finite(v)
}

const (
	mostCount     = 1e9 // no gun has so many of anything
	thickestGauge = -3  // 4/0 AWG
	thinnestGauge = 56
)

// dims are the exponents of metre, kilogram, second, ampere, kelvin, mole and
// radian.
type dims [7]int8

// traits are what is known of a kind.
type traits struct {
	name    string // with its article: "a length"
	dims    dims
	unit    string  // in which a value is shown
	scale   float64 // SI units in one of it
	offset  float64 // added after scaling (degrees Celsius)
	example string
	si      string // the SI unit, where unit is not a power of ten of it
}

// table is indexed by Kind and only read.
var table = [kinds]traits{
	Number:            {"a pure number", dims{}, "", 1, 0, "1.05", ""},
	Count:             {"a whole number", dims{}, "", 1, 0, "28", ""},
	Share:             {"a share", dims{}, "%", 0.01, 0, "12 %", ""},
	Length:            {"a length", dims{1}, "mm", 1e-3, 0, "350 mm", ""},
	Area:              {"an area", dims{2}, "mm2", 1e-6, 0, "20 mm2", ""},
	Volume:            {"a volume", dims{3}, "cm3", 1e-6, 0, "1.0 cm3", ""},
	Mass:              {"a mass", dims{0, 1}, "g", 1e-3, 0, "26 g", ""},
	Force:             {"a force", dims{1, 1, -2}, "N", 1, 0, "5 N", ""},
	Torque:            {"a torque", dims{2, 1, -2}, "mN m", 1e-3, 0, "3.5 mN m", ""},
	Energy:            {"an energy", dims{2, 1, -2}, "J", 1, 0, "0.9 J", ""},
	Angle:             {"an angle", dims{6: 1}, "deg", degree, 0, "120 deg", "rad"},
	Time:              {"a time", dims{2: 1}, "s", 1, 0, "1 ms", ""},
	Rate:              {"a rate", dims{2: -1}, "/s", 1, 0, "20 /s", ""},
	Velocity:          {"a velocity", dims{1, 0, -1}, "m/s", 1, 0, "400 ft/s", ""},
	AngularSpeed:      {"a speed of rotation", dims{2: -1, 6: 1}, "rpm", 2 * 180 * degree / 60, 0, "32000 rpm", "rad/s"},
	Voltage:           {"a voltage", dims{2, 1, -3, -1}, "V", 1, 0, "0.30 V", ""},
	Current:           {"a current", dims{3: 1}, "A", 1, 0, "25 A", ""},
	Resistance:        {"a resistance", dims{2, 1, -3, -2}, "mohm", 1e-3, 0, "9 mohm", ""},
	Inductance:        {"an inductance", dims{2, 1, -2, -2}, "uH", 1e-6, 0, "66 uH", ""},
	Charge:            {"a charge", dims{2: 1, 3: 1}, "mAh", 3.6, 0, "1300 mAh", "C"},
	Inertia:           {"a moment of inertia", dims{2, 1}, "g cm2", 1e-7, 0, "12 g cm2", ""},
	ViscousDrag:       {"a torque per speed", dims{2, 1, -1}, "N m s", 1, 0, "2e-6 N m s", ""},
	FluxDensity:       {"a flux density", dims{0, 1, -2, -1}, "T", 1, 0, "1.18 T", ""},
	FieldStrength:     {"a field strength", dims{-1, 0, 0, 1}, "kA/m", 1e3, 0, "955 kA/m", ""},
	Temperature:       {"a temperature", dims{4: 1}, "degC", 1, Celsius, "20 degC", "K"},
	Drift:             {"a drift with temperature", dims{4: -1}, "%/K", 0.01, 0, "-0.12 %/K", ""},
	HeatCapacity:      {"a heat capacity", dims{2, 1, -2, 0, -1}, "J/K", 1, 0, "12 J/K", ""},
	ThermalResistance: {"a thermal resistance", dims{-2, -1, 3, 0, 1}, "K/W", 1, 0, "3.5 K/W", ""},
	SpringRate:        {"a spring rate", dims{0, 1, -2}, "N/m", 1, 0, "680 N/m", ""},
	Pressure:          {"a pressure", dims{-1, 1, -2}, "kPa", 1e3, 0, "101.325 kPa", ""},
	Stress:            {"a stress or hardness", dims{-1, 1, -2}, "GPa", 1e9, 0, "0.9 GPa", ""},
	MeltingIntegral:   {"a melting integral", dims{2: 1, 3: 2}, "A2 s", 1, 0, "600 A2 s", ""},
	MolarEnergy:       {"an energy per amount", dims{2, 1, -2, 0, 0, -1}, "kJ/mol", 1e3, 0, "20 kJ/mol", ""},
	WireSize:          {"a wire size", dims{1}, "mm", 1e-3, 0, "0.65 mm or 22 AWG", ""},
	Gauge:             {"a wire gauge", dims{}, "AWG", 1, 0, "16 AWG", ""},
	Ratio:             {"a ratio", dims{}, "", 1, 0, "10.44 or 18:1", ""},
	Rating:            {"a discharge rating", dims{}, "", 1, 0, "25 or 25C", ""},
	Power:             {"a power", dims{2, 1, -3}, "W", 1, 0, "250 W", ""},
	Flux:              {"a magnetic flux, or a voltage per speed", dims{2, 1, -2, -1}, "mV s", 1e-3, 0, "3.6 mV s", ""},
}
