package motor_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/ampstroke/motor"
)

// ampere is the flux density [T] in a gap [m] that a magnet of a thickness [m] drives at its
// field [A/m], negative in the second quadrant, by Ampère's law for equal areas.
func ampere(field, thickness, gap float64) float64 { return -motor.Mu0 * field * thickness / gap }

// Fitzgerald, Electric Machinery, Ex 1.9: Alnico 5, gap 0.2 cm, magnet 1 cm,
// equal areas, Hm −49 kA/m; the book reads 0.30–0.31 T off its curve. A straight line
// through that point, whatever its slope, gives the gap the same.
func TestAlnicoGap(t *testing.T) {
	const field, thick, gap, book = -49e3, 1e-2, 0.2e-2, 0.308
	assert.InEpsilon(t, book, ampere(field, thick, gap), 0.02)
	for _, permeability := range []float64{1, 1.05, 2, 4} {
		remanence := book - motor.Mu0*permeability*field
		b := motor.GapDensity(remanence, 0, permeability, 1, gap, thick)
		assert.InDelta(t, book, b, 5e-4, "A2; three digits are quoted")
		m := motor.Motor{Stator: motor.Stator{Magnet: motor.Magnet{Remanence: remanence, Permeability: permeability, Thickness: thick, Coercivity: 1}, Carter: 1, AirGap: gap}}
		assert.InEpsilon(t, -field, m.Demagnetisation(0, ambient).Field, 0.01, "A15, without a current")
	}
}

// Modelica Standard Library, MovingCoilActuator, published reference results: a ring
// magnet whose flux crosses magnet and gap radially, both of the magnet's permeability. That
// is equation A2 with a Carter factor that makes the gap as permeable, at the radius where
// a plane of the same width lets as much through.
func TestRingMagnet(t *testing.T) {
	const (
		inner, outer = 12.5e-3, 19e-3 // [m]
		half         = 10e-3          // [m]
		turns        = 140
		thickness    = 3.5e-3 // [m]
		coercivity   = 400e3  // normal one [A/m]
		permeability = 1.05
		tol          = 1e-6
	)
	remanence := motor.Mu0 * permeability * coercivity
	assert.InEpsilon(t, 1400, remanence/(motor.Mu0*permeability)*thickness, tol, "the magnetomotive force [A]")
	b := motor.GapDensity(remanence, 0, permeability, 1/permeability, outer-inner-thickness, thickness)
	mean := (outer - inner) / math.Log(outer/inner)
	flux := b * 2 * math.Pi * mean * half
	assert.InEpsilon(t, 2.77200e-4, flux, tol)
	assert.InEpsilon(t, 3.880801, turns*flux/half, tol, "force constant [N/A]")
	middle := inner + (outer-inner-thickness)/2 // of the gap, which lies inside the magnet
	assert.InEpsilon(t, 0.3151, flux/(2*math.Pi*middle*half), 2e-4, "mean flux density in mid-gap; four digits are quoted")
}

// A straight demagnetisation line through A2 must agree with Ampère's law at the
// magnet's own operating point.
func TestGapDensityAgreesWithAmpere(t *testing.T) {
	const br, mur, g, lm = 1.18, 1.05, 0.4e-3, 2e-3
	b := motor.GapDensity(br, 0, mur, 1, g, lm)
	h := (b - br) / (motor.Mu0 * mur) // of the magnet
	assert.InEpsilon(t, b, ampere(h, lm, g), 1e-12)
}

func TestSaturated(t *testing.T) {
	assert.InEpsilon(t, 1e-4, motor.Saturated(1e-4, 1), 1e-12, "far below the limit nothing is lost")
	assert.InEpsilon(t, 1e-4, motor.Saturated(1, 1e-4), 1e-12, "far above, the limit is what is left")
	assert.InEpsilon(t, math.Pow(2, -1./8), motor.Saturated(1, 1), 1e-12)
}

// Modelica Standard Library, hard-magnetic materials.
func TestMagnetMaterials(t *testing.T) {
	for _, c := range []struct {
		name             string
		magnet           motor.Magnet
		remanence, drift float64
	}{
		{"hard ferrite", motor.HardFerrite(), 0.38, -0.002},
		{"sintered NdFeB", motor.SinteredNdFeB(), 1.2, -0.001},
		{"bonded NdFeB", motor.BondedNdFeB(), 0.58, -0.001},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.remanence, c.magnet.Remanence)
			assert.Equal(t, c.drift, c.magnet.Drift)
			assert.InEpsilon(t, c.remanence*(1+60*c.drift), c.magnet.At(353.15), 1e-12, "at 80 °C")
		})
	}
}

// Suppliers' tables: remanence of sintered ferrite (Y30 0.37–0.40 T) and
// neodymium (N35 1.17–1.22 T) grades, recoil permeability 1.05, drift −0.20 and
// −0.12 %/K. Bonded neodymium 0.55–0.70 T (from memory).
func TestDefaultsLieInTheSuppliersBands(t *testing.T) {
	in := func(v, lo, hi float64, what string) {
		assert.GreaterOrEqual(t, v, lo, what)
		assert.LessOrEqual(t, v, hi, what)
	}
	in(motor.HardFerrite().Remanence, 0.37, 0.40, "Y30")
	in(motor.SinteredNdFeB().Remanence, 1.17, 1.22, "N35")
	in(motor.BondedNdFeB().Remanence, 0.55, 0.70, "bonded")
	assert.Equal(t, 1.05, motor.DefaultPermeability)
	assert.Equal(t, -0.0020, motor.RemanenceDrift(0.385))
	assert.Equal(t, -0.0012, motor.RemanenceDrift(1.2))
}

func TestMagnetLimit(t *testing.T) {
	for _, c := range []struct{ remanence, coercivity, degC float64 }{
		{0.39, 255e3, 250}, {1.18, 955e3, 80}, {1.2, 1114e3, 100}, {1.2, 1353e3, 120},
		{1.2, 1592e3, 150}, {1.2, 1989e3, 180}, {1.2, 2387e3, 200}, {1.2, 2386e3, 180},
	} {
		assert.InDelta(t, c.degC, motor.MagnetLimit(c.remanence, c.coercivity)-273.15, 1e-9)
	}
}
