package battery

import "math"

// IronPhosphate is a lithium-iron-phosphate cell by the closed form U(x) of
// Afshar 2017, as in PyBaMM's Prada2013 set; x is the fill of the positive
// electrode, here 1 less the state of charge.
//
// It is the voltage of that electrode against lithium. A cell with a graphite
// electrode gives some 0.1 V less (from memory), so that this one reads about
// 3 % high; see [Chemistry.Remark]. Close to full, the curve climbs to 3.91 V,
// and close to empty it falls to 2.49 V.
// Its circuit is borrowed from the lithium-polymer cell (a closure).
type IronPhosphate struct{ borrowedCircuit }

// OCV implements [Cell].
func (IronPhosphate) OCV(s float64) float64 {
	return 3.4077 - 0.020269*(1-s) + 0.5*math.Exp(-150*(1-s)) - 0.9*math.Exp(-30*s)
}

// Slope implements [Cell].
func (IronPhosphate) Slope(s float64) float64 {
	return 0.020269 + 150*0.5*math.Exp(-150*(1-s)) + 30*0.9*math.Exp(-30*s)
}
