package heat

import (
	"errors"
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain/internal/ode"
)

// Network is parts that store heat and the paths it takes between them and to the
// surroundings. Both are data: a part more is a node and its paths more.
type Network struct {
	Nodes []Node
	Paths []Path
}

// Node is a part that stores heat.
type Node struct {
	Name string
	// Capacity is its heat capacity [J/K].
	Capacity float64
}

// Path is a way for heat from one node to another, or to the surroundings.
type Path struct {
	// From and To are indices of nodes; To may be Surroundings.
	From, To int
	// Conductance is the flow per difference of temperature [W/K].
	Conductance float64
	// Surface, unless nil, says what flows to the surroundings instead.
	Surface Surface
}

// Surroundings stands for a node that takes any heat without getting warmer.
const Surroundings = -1

// Surface is what gives off heat to the surroundings other than in proportion to
// its temperature.
type Surface interface {
	// Flow returns what is given off [W] at a rise above the surroundings [K].
	Flow(rise float64) float64
}

// Decay is a store of energy that empties into a node, the faster the more it
// holds.
type Decay struct {
	Node int
	// Energy is what it holds [J].
	Energy float64
	// Rate is the share that goes over in a unit of time [1/s].
	Rate float64
}

// through returns what flows along a path [W], given the rises of all nodes [K].
func (p *Path) through(rise []float64) float64 {
	if p.Surface != nil {
		return p.Surface.Flow(rise[p.From])
	}
	q := rise[p.From]
	if p.To != Surroundings {
		q -= rise[p.To]
	}
	return p.Conductance * q
}

// slope returns the derivative of through by the rise of From [W/K].
func (p *Path) slope(rise []float64) float64 {
	if p.Surface == nil {
		return p.Conductance
	}
	const step = 1e-3 // [K]
	at := rise[p.From]
	return (p.Surface.Flow(at+step) - p.Surface.Flow(at-step)) / (2 * step)
}

// flows writes the flows into the nodes [W] to flow, and returns what is given
// off [W].
func (n *Network) flows(flow, rise, power []float64) (off float64) {
	copy(flow, power)
	for i := range n.Paths {
		p := &n.Paths[i]
		q := p.through(rise)
		flow[p.From] -= q
		if p.To == Surroundings {
			off += q
		} else {
			flow[p.To] += q
		}
	}
	return off
}

// Add adds a node of a heat capacity [J/K] and returns its index.
func (n *Network) Add(name string, capacity float64) int {
	n.Nodes = append(n.Nodes, Node{Name: name, Capacity: capacity})
	return len(n.Nodes) - 1
}

// Connect adds a path of a thermal resistance [K/W].
func (n *Network) Connect(from, to int, resistance float64) {
	n.Paths = append(n.Paths, Path{From: from, To: to, Conductance: 1 / resistance})
}

// Stored returns what the nodes hold [J] at rises above the surroundings [K].
func (n *Network) Stored(rise []float64) (sum float64) {
	for i := range n.Nodes {
		sum += n.Nodes[i].Capacity * rise[i]
	}
	return sum
}

// Advance lets the network take up constant powers [W] for a time [s] and moves the
// rises above the surroundings [K] on. It returns what was given off [J].
func (n *Network) Advance(rise, power []float64, duration float64) (off float64, err error) {
	return n.advance(rise, power, nil, duration, nil)
}

// stretch is a step of the integrator: a stretch of time over which all is smooth.
type stretch struct {
	from, to float64   // since the start of the advance [s]
	before   []float64 // rises at from [K]
	after    []float64 // rises at to [K]
	slope0   []float64 // of the rises at from [K/s]
	slope1   []float64 // of the rises at to [K/s]
	at       func(time float64) []float64
}

// Accuracy of the integration.
const (
	relative = 1e-6
	absolute = 1e-6 // [K], [J]
)

// firstStep is the first step that is tried, where the advance is no shorter [s].
const firstStep = 0.5

// advance is Advance with stores that empty, which it moves on, and a look at every
// step.
func (n *Network) advance(rise, power []float64, decays []Decay, duration float64, look func(*stretch)) (off float64, err error) {
	if !(duration > 0) {
		return 0, nil
	}
	nodes, live := len(n.Nodes), len(n.Nodes)+len(decays)
	y := make([]float64, live+1) // rises, what the stores hold, what was given off
	copy(y, rise)
	for k := range decays {
		y[nodes+k] = decays[k].Energy
	}
	derive := func(dy, y []float64) {
		dy[live] = n.flows(dy[:nodes], y, power)
		for k := range decays {
			d := &decays[k]
			p := d.Rate * y[nodes+k]
			dy[d.Node] += p
			dy[nodes+k] = -p
		}
		for i := range n.Nodes {
			dy[i] /= n.Nodes[i].Capacity
		}
	}
	s, err := ode.New(ode.Problem{
		Deriv: func(dy []float64, _ float64, y []float64) { derive(dy, y) },
		T1:    duration, Y0: y, Passive: 1,
		Jacobian: func(j []float64, _ float64, y []float64) {
			width := live + 1
			at := func(row, col int) *float64 { return &j[row*width+col] }
			for i := range n.Paths {
				p := &n.Paths[i]
				g := p.slope(y)
				from := n.Nodes[p.From].Capacity
				*at(p.From, p.From) -= g / from
				if p.To == Surroundings {
					*at(live, p.From) += g
					continue
				}
				to := n.Nodes[p.To].Capacity
				*at(p.From, p.To) += g / from
				*at(p.To, p.From) += g / to
				*at(p.To, p.To) -= g / to
			}
			for k := range decays {
				d := &decays[k]
				*at(d.Node, nodes+k) += d.Rate / n.Nodes[d.Node].Capacity
				*at(nodes+k, nodes+k) -= d.Rate
			}
		},
	}, ode.Settings{Method: ode.Rodas, RelTol: relative, AbsTol: []float64{absolute}, InitialStep: min(duration, firstStep)})
	if err != nil {
		return 0, err
	}
	var step stretch
	if look != nil {
		slab := make([]float64, 4*(live+1))
		cut := func() (v []float64) {
			v, slab = slab[:live+1:live+1], slab[live+1:]
			return v
		}
		step = stretch{before: cut(), slope0: cut(), slope1: cut()}
		sample := cut()
		step.at = func(time float64) []float64 { return s.At(sample, time) }
		derive(step.slope1, y)
	}
	for s.Status() == ode.Running {
		if look != nil {
			copy(step.before, s.Y())
			copy(step.slope0, step.slope1)
		}
		if err := s.Step(); err != nil {
			return 0, fmt.Errorf("temperatures: %w", err)
		}
		if look != nil {
			step.from, step.to, step.after = s.PrevT(), s.T(), s.Y()
			derive(step.slope1, step.after)
			look(&step)
		}
	}
	end := s.Y()
	copy(rise, end[:nodes])
	for k := range decays {
		decays[k].Energy = end[nodes+k]
	}
	return end[live], nil
}

// Validate reports nodes and paths that can't be used.
func (n *Network) Validate() error {
	var all []error
	positive := func(v float64) bool { return v > 0 && !math.IsInf(v, 0) }
	for i, node := range n.Nodes {
		if !positive(node.Capacity) {
			all = append(all, fmt.Errorf("node %d (%s): a capacity of %g J/K; wanted more than nothing", i, node.Name, node.Capacity))
		}
	}
	for i, p := range n.Paths {
		if p.From < 0 || p.From >= len(n.Nodes) || p.To < Surroundings || p.To >= len(n.Nodes) || p.From == p.To {
			all = append(all, fmt.Errorf("path %d: leads from node %d to node %d; there are %d", i, p.From, p.To, len(n.Nodes)))
		}
		if p.Surface == nil && !positive(p.Conductance) {
			all = append(all, fmt.Errorf("path %d: a conductance of %g W/K; wanted more than nothing", i, p.Conductance))
		}
		if p.Surface != nil && p.To != Surroundings {
			all = append(all, fmt.Errorf("path %d: a surface leads to the surroundings, not to node %d", i, p.To))
		}
	}
	return errors.Join(all...)
}
