package battery_test

import (
	"testing"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/drivetrain/quantity/quantitytest"
)

func TestBounds(t *testing.T) {
	const freezing = 273.15 // [K]
	type P = battery.Pack
	p := quantitytest.Part[P]{T: t, New: pack, Validate: (*P).Validate}
	p.Counts("series", func(p *P) *int { return &p.Series }, 1, 100)
	p.Counts("parallel", func(p *P) *int { return &p.Parallel }, 1, 100)
	p.Bounds("capacity", func(p *P) *float64 { return &p.Capacity }, 0.020*3600, 3.6e6)
	p.Bounds("resistance", func(p *P) *float64 { return &p.Resistance }, 1e-6, 10)
	p.Bounds("discharge_rating", func(p *P) *float64 { return &p.DischargeRating }, 0, 1000)
	p.Bounds("state_of_charge", func(p *P) *float64 { return &p.StateOfCharge }, 0, 1)
	p.Bounds("activation_energy", func(p *P) *float64 { return &p.ActivationEnergy }, 0, 200e3)
	p.Bounds("reserve", func(p *P) *float64 { return &p.Reserve }, 0, 0.99)
	p.Bounds("cutoff", func(p *P) *float64 { return &p.Cutoff }, 0, 10)
	p.Bounds("heat.cell", func(p *P) *float64 { return &p.Heat.Cell }, 1e-3, 1e6)
	p.Bounds("heat.to_ambient", func(p *P) *float64 { return &p.Heat.ToAmbient }, 1e-3, 1e6)
	p.Bounds("heat.limit", func(p *P) *float64 { return &p.Heat.Limit }, freezing, freezing+200)
	p.New = func() P {
		own := pack()
		own.Chemistry = battery.Custom
		own.OCVTable = []battery.OCVPoint{{Charge: 0, Voltage: 3}, {Charge: 0.5, Voltage: 10}, {Charge: 1, Voltage: 10}}
		return own
	}
	p.Bounds("ocv.0.1", func(p *P) *float64 { return &p.OCVTable[0].Voltage }, 0.01, 10)
	p.Bounds("ocv.1.1", func(p *P) *float64 { return &p.OCVTable[1].Voltage }, 3, 10)
	p.Bounds("ocv.1.0", func(p *P) *float64 { return &p.OCVTable[1].Charge }, 1e-6, 1)
}
