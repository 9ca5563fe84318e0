package cycle

import (
	"math"

	"example.org/ampstroke/drivetrain/flight"
)

// Ledger is where the energy of one shot goes, from just after a pickup to just
// after the next, or from closing the switch to just after the first pickup
// (equation F7). A row that needs the piston's flight is NaN.
type Ledger struct {
	// Battery is what the pack's chemistry gives, ∫OCV·i dt [J].
	Battery float64
	// Winding is the heat of the motor's winding [J].
	Winding float64
	// Brush is the heat of brushes and commutation [J].
	Brush float64
	// MotorDrag is the loss of the turning motor [J].
	MotorDrag float64
	// Pack is the heat of the pack [J].
	Pack float64
	// Leads is the heat of the leads [J].
	Leads float64
	// Connectors is the heat of all connectors [J].
	Connectors float64
	// Switch is the heat of the closed switch [J].
	Switch float64
	// Mesh is the loss of the gears' meshes, churning included [J].
	Mesh float64
	// Tappet is the work of the nozzle's return [J].
	Tappet float64
	// Pickup is what the inelastic pickup loses [J].
	Pickup float64
	// PistonDrag is the piston's friction in pull and flight [J].
	PistonDrag float64
	// Impact is what the piston's stop loses [J].
	Impact float64
	// Air is what the air takes [J].
	Air float64
	// Walls is the heat that the air gives to cylinder and barrel [J].
	Walls float64
	// Surge is what stays in the spring's coils [J].
	Surge float64
	// Barrel is the drag of hop and barrel [J].
	Barrel float64
	// Pellet is the pellet's energy at the muzzle [J].
	Pellet float64
	// Stored is the gain in rotation, inductance, spring and the pack's
	// capacitances [J].
	Stored float64
	// Residual is Battery less all rows [J].
	Residual float64
}

// Row is one line of a ledger.
type Row struct {
	Name string
	// Energy is what the row takes, NaN where the row doesn't exist [J].
	Energy float64
}

// Rows lists all that Battery is spent on, in a fixed order, without Battery and
// Residual.
func (l *Ledger) Rows() []Row {
	rows := l.rows()
	return rows[:]
}

func (l *Ledger) rows() [18]Row {
	return [...]Row{
		{"winding", l.Winding}, {"brush", l.Brush}, {"motor_drag", l.MotorDrag}, {"pack", l.Pack},
		{"leads", l.Leads}, {"connectors", l.Connectors}, {"switch", l.Switch}, {"mesh", l.Mesh},
		{"tappet", l.Tappet}, {"pickup", l.Pickup},
		{"piston_drag", l.PistonDrag}, {"impact", l.Impact}, {"air", l.Air}, {"walls", l.Walls}, {"surge", l.Surge}, {"barrel", l.Barrel},
		{"pellet", l.Pellet}, {"stored", l.Stored},
	}
}

// rowTexts are what people call the rows, and what is to be said beside them.
func rowTexts(name string) (label, note string) {
	switch name {
	case "brush":
		return "brushes", ""
	case "motor_drag":
		return "motor drag", ""
	case "mesh":
		return "gear meshes", ""
	case "pickup":
		return "pickup", "lost when the sector meets the rack"
	case "piston_drag":
		return "piston drag", ""
	case "impact":
		return "piston impact", ""
	case "air":
		return "air", "warmed, pushed out and past the seals"
	case "walls":
		return "heat to the walls", "of cylinder and barrel"
	case "surge":
		return "left in the spring's coils", "and lost in its guide"
	case "barrel":
		return "hop and barrel drag", ""
	case "pellet":
		return "pellet", "at the muzzle"
	case "stored":
		return "stored", "in what still turns, the pack and a pulled spring"
	}
	return name, ""
}

// Label is what people call the row.
func (r *Row) Label() string { label, _ := rowTexts(r.Name); return label }

// Note is what stands beside the row, "" where its label says all.
func (r *Row) Note() string { _, note := rowTexts(r.Name); return note }

// balance fills in the residual.
func (l *Ledger) balance() {
	l.Residual = l.Battery
	for _, r := range l.rows() {
		l.Residual -= r.Energy
	}
}

func emptyLedger() Ledger {
	n := math.NaN()
	return Ledger{n, n, n, n, n, n, n, n, n, n, n, n, n, n, n, n, n, n, n, n}
}

// ledger closes the books of the stretch since begin, with the flights that were
// released in it.
func (r *run) ledger(shots []*flight.Result) Ledger {
	m, y, t := r.m, &r.y, &r.tally
	l := Ledger{
		Battery: y[sumSource],
		Winding: m.motor.Resistance * y[sumSquare],
		Brush:   m.motor.BrushDrop*y[sumBrush] + m.motor.Commutation*y[sumReverse],
		Leads:   m.wires.Leads * t.square, Connectors: m.wires.Connectors * t.square,
		Switch: m.wires.Switch*t.square + m.flyback*t.diode + m.brake*t.shorted + t.arc,
		Mesh:   t.mesh + m.churning*y[sumSpeed2],
		Tappet: t.tappet, Pickup: t.pickup, PistonDrag: t.pullDrag,
		Stored: r.stored() - t.start + t.shot,
	}
	turned := t.turned * m.geometry.Ratio // of the motor [rad]
	l.MotorDrag = m.motor.DragConstant*turned + m.motor.DragViscous*y[sumSpeed2]
	l.Pack = m.circuit.R0 * t.square
	if r.held {
		l.Pack += (y[voltage1] + y[voltage2]) * t.drawn
	} else {
		l.Pack += y[sumPairs]
	}
	if n := float64(r.hunts.Shots); n != 0 { // the mean of that many shots
		for _, row := range []*float64{
			&l.Battery, &l.Winding, &l.Brush, &l.MotorDrag, &l.Pack, &l.Leads, &l.Connectors, &l.Switch,
			&l.Mesh, &l.Tappet, &l.Pickup, &l.PistonDrag, &l.Stored,
		} {
			*row /= n
		}
	}
	for _, s := range shots {
		f := &s.Ledger
		l.PistonDrag += f.PistonDrag
		l.Impact += f.Impact
		l.Air += f.Air
		l.Walls += f.Walls
		l.Surge += f.Surge
		l.Barrel += f.Barrel
		l.Pellet += f.Pellet
		// A piston that isn't home keeps some of what the rack has given it.
		l.Stored += f.Stored - f.Spring - f.Kinetic
	}
	l.balance()
	return l
}
