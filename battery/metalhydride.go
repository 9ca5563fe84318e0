package battery

// MetalHydride is a nickel-metal-hydride cell at 25 °C by the table of the NREL
// ADVISOR data (from a secondary source), in steps of a tenth of the charge and
// straight between. The table ends at 1.21 V: the steep fall of a cell that is
// run flat is not in it. Its circuit is borrowed from the lithium-polymer cell
// (a closure).
type MetalHydride struct{ borrowedCircuit }

// OCV implements [Cell].
func (MetalHydride) OCV(s float64) float64 { return metalHydride.OCV(s) }

// Slope implements [Cell]; see [Table.Slope].
func (MetalHydride) Slope(s float64) float64 { return metalHydride.Slope(s) }

var metalHydride = Table{Points: []OCVPoint{
	{0, 1.2062}, {0.1, 1.2341}, {0.2, 1.2518}, {0.3, 1.2646}, {0.4, 1.2743}, {0.5, 1.2818},
	{0.6, 1.2882}, {0.7, 1.2944}, {0.8, 1.3013}, {0.9, 1.3191}, {1, 1.3941},
}}
