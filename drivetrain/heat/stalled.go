package heat

import (
	"context"
	"fmt"
	"math"

	"example.org/ampstroke/drivetrain"
	"example.org/ampstroke/drivetrain/internal/ode"
)

// Stalled is a motor that is held while the switch stays closed (equation G11), all
// at ambient and the pack rested before: what flows at first, and how long each part
// lasts. The fuse is left in, whatever it would do.
type Stalled struct {
	// Current is what flows at first [A].
	Current float64
	// Parts are those of PartNames. Start is that of the surroundings; Peak and
	// PeakAt are those up to Duration; no round is fired. The fuse blows after what
	// the first current takes, as the reference model reckons it, if FuseFalling says
	// that it blows at all.
	Parts []Part
	// FuseFalling is when the fuse blows, the current falling as the motor warms; NaN:
	// never [s].
	FuseFalling float64
	// Duration is how long the motor was followed: until the pack is empty [s].
	Duration float64
}

// longestStall is how long a held motor is followed [s].
const longestStall = 600

// The states of a held motor behind the rises of the nodes.
const (
	stallV1 = iota
	stallV2
	stallCharge
	stallFuse // rise of the fuse [K]
	stallStates
)

// FindStalled follows a build whose motor is held: the current by section I's
// formula, resistances, charge and RC voltages as they move. It reports every field
// of the build that can't be used.
func FindStalled(ctx context.Context, b *drivetrain.Build) (*Stalled, error) {
	if err := b.Validate(); err != nil {
		return nil, err
	}
	m, err := newModel(b)
	if err != nil {
		return nil, err
	}
	st, err := m.stalled(ctx)
	if err != nil {
		return nil, fmt.Errorf("the stalled motor of %q: %w", b.Name, err)
	}
	return st, nil
}

// held is the loop through a motor that stands.
type held struct {
	m     *model
	drop  float64   // of the brushes [V]
	power []float64 // what goes into each node [W]
	fuse  melt      // nil fuse: none
}

// warm fills in the powers at a state and returns the current [A].
func (h *held) warm(y []float64) (current float64) {
	m, b := h.m, h.m.build
	n := len(m.net.Nodes)
	k := m.conditions(y, 0, 0, 0)
	more := y[n:]
	v1, v2, charge := more[stallV1], more[stallV2], more[stallCharge]
	c := b.Battery.Circuit(m.cell, max(0, charge), k.Pack)
	winding := b.Motor.At(k.Winding, k.Magnets).Resistance
	wires := b.Harness.At(temperatures(&k))
	current = max(0, b.Battery.OCV(m.cell, charge)-v1-v2-h.drop) / (winding + wires.Total() + c.R0)
	square := current * current
	clear(h.power)
	h.power[m.winding] = square*winding + current*h.drop/2
	h.power[m.can] = current * h.drop / 2
	if m.lead >= 0 {
		h.power[m.lead] = square * wires.Leads
	}
	for i, node := range m.connectors {
		h.power[node] = square * b.Harness.Connectors[i].Resistance
	}
	h.power[m.sw] = square * wires.Switch
	h.power[m.pack] = square*c.R0 + v1*v1/c.R1 + v2*v2/c.R2
	return current
}

func (h *held) derive(dy []float64, y []float64) {
	m, b := h.m, h.m.build
	n := len(m.net.Nodes)
	current := h.warm(y)
	m.net.flows(dy[:n], y, h.power)
	for i := range m.net.Nodes {
		dy[i] /= m.net.Nodes[i].Capacity
	}
	d, more := dy[n:], y[n:]
	c := b.Battery.Circuit(m.cell, max(0, more[stallCharge]), m.ambient+y[m.pack])
	d[stallV1] = (current - more[stallV1]/c.R1) / c.C1
	d[stallV2] = (current - more[stallV2]/c.R2) / c.C2
	d[stallCharge] = -current / b.Battery.Capacity
	d[stallFuse] = 0
	if fuse := h.fuse.fuse; fuse != nil { // equation C6
		d[stallFuse] = current*current*fuseSpan/fuse.Melting - more[stallFuse]/h.fuse.tau()
	}
}

// differences writes the derivatives of f by the states to j, row by row, by differences.
func differences(j []float64, y []float64, f func(dy, y []float64)) {
	n := len(y)
	at, up, down := append([]float64(nil), y...), make([]float64, n), make([]float64, n)
	for k := range y {
		step := 1e-6 * max(1, math.Abs(y[k]))
		at[k] = y[k] + step
		f(up, at)
		at[k] = y[k] - step
		f(down, at)
		at[k] = y[k]
		for i := range n {
			j[i*n+k] = (up[i] - down[i]) / (2 * step)
		}
	}
}

func (m *model) stalled(ctx context.Context) (*Stalled, error) {
	b, n := m.build, len(m.net.Nodes)
	h := &held{m: m, power: make([]float64, n), fuse: melt{fuse: b.Harness.Fuse}}
	h.drop = b.Motor.At(m.ambient, m.ambient).BrushDrop
	y := make([]float64, n+stallStates)
	y[n+stallCharge] = b.Battery.StateOfCharge
	st := &Stalled{Current: h.warm(y), FuseFalling: math.NaN()}
	f := newFiring(m, &Plan{Repeat: 1}, Settings{})
	s, err := ode.New(ode.Problem{
		Deriv:    func(dy []float64, _ float64, y []float64) { h.derive(dy, y) },
		Jacobian: func(j []float64, _ float64, y []float64) { differences(j, y, h.derive) },
		T1:       longestStall, Y0: y,
		Events: []ode.Event{{Name: "the empty pack", Direction: ode.Falling, Terminal: true, Func: func(_ float64, y []float64) float64 { return y[n+stallCharge] }}},
	}, ode.Settings{Method: ode.Rodas, RelTol: relative, AbsTol: []float64{absolute}})
	if err != nil {
		return nil, err
	}
	sample := make([]float64, len(y))
	step := stretch{
		before: make([]float64, len(y)), slope0: make([]float64, len(y)), slope1: make([]float64, len(y)),
		at: func(time float64) []float64 { return s.At(sample, time) },
	}
	if !(st.Current > 0) || !(b.Battery.StateOfCharge > 0) {
		f.finish()
		st.Parts = f.res.Parts
		return st, nil
	}
	h.derive(step.slope1, y)
	for s.Status() == ode.Running {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		copy(step.before, s.Y())
		copy(step.slope0, step.slope1)
		if err := s.Step(); err != nil {
			return nil, err
		}
		step.from, step.to, step.after = s.PrevT(), s.T(), s.Y()
		h.derive(step.slope1, step.after)
		f.hold = m.hold(st.Current, m.ambient+step.after[m.sw])
		f.look(0, &step)
		if f.fuse.fuse != nil && math.IsNaN(f.fusePart.LimitAt) {
			// Its rise is a state: the current falls as the motor warms, and a fuse that
			// has not blown by then may cool again.
			f.fusePart.watch(0, &step, n+stallFuse, func(y []float64) float64 { return m.ambient + y[n+stallFuse] }, 0)
		}
	}
	f.time = s.T()
	f.finish()
	st.Parts, st.Duration = f.res.Parts, f.time
	if p := &st.Parts[len(st.Parts)-1]; !math.IsNaN(p.LimitAt) {
		st.FuseFalling = p.LimitAt
		p.LimitAt = h.fuse.reaches(FuseBlows-m.ambient, st.Current*st.Current)
		p.Peak, p.PeakAt = p.Limit, p.LimitAt
	}
	for i := range st.Parts {
		st.Parts[i].RoundsToLimit = math.NaN()
	}
	return st, nil
}
