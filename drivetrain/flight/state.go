package flight

// The state vector. Behind what moves stand the integrals that the ledger is made
// of; nothing depends on them.
const (
	travel  = iota // x of the piston [m]
	speed          // v of the piston [m/s]
	mass1          // of the air in the cylinder [kg]
	energy1        // its internal energy [J]
	mass2          // of the air in the barrel [kg]
	energy2        // its internal energy [J]
	along          // z of the pellet [m]
	fast           // vb of the pellet [m/s]
	clock          // time since the release [s]

	sumDrag     // ∫Ff·tanh(v/0.05 m/s)·v dt [J]
	sumEnthalpy // of the air that has left, less that of what came in [J]
	sumWalls    // heat to the walls [J]
	sumSurge    // what a spring with waves gives less than one without, ∫(k·(x0 + x) − Fs)·(−v) dt [J]
	sumColumn   // work on the air in front of the pellet and by friction in the barrel [J]

	states
)

// integrals is how many states nothing depends on.
const integrals = states - sumDrag

var stateNames = []string{
	"piston travel", "piston speed", "cylinder mass", "cylinder energy", "barrel mass", "barrel energy",
	"pellet travel", "pellet speed", "clock", "drag work", "enthalpy", "heat to the walls", "surge", "column work",
}

// pelletMode is what the pellet does.
type pelletMode int

const (
	held pelletMode = iota
	sliding
	out
)

// mode is what the right-hand side reads.
type mode struct {
	seated   bool // the piston rests at home
	portOpen bool
	pellet   pelletMode
	inHop    bool

	// What the air in the barrel does. These limits are jumps of the equations E8 and E9.
	stirred bool // turbulent at the wall
	brisk   bool // the pellet is fast enough for friction in the barrel
	rough   bool // turbulent behind the pellet
	ahead   bool // turbulent in front of it

	// What follows from it.
	leak  float64 // effective area from the cylinder to the air around [m2]
	front float64 // effective area from the barrel to it [m2]
	brake float64 // drag of hop and barrel on the pellet [N]
}

// follow sets what follows from the mode.
func (m *mode) follow(g *gun) {
	m.leak, m.front, m.brake = g.leak, g.gap, g.friction
	if m.portOpen {
		m.leak = g.leakPort
	}
	if m.pellet == out {
		m.front = g.muzzle
	}
	if m.inHop {
		m.brake += g.hop
	}
}

// calm is the air about a pellet at rest.
func (m *mode) calm() { m.brisk, m.rough, m.ahead = false, false, false }

// code packs the mode for a trajectory, and unpack reads it.
func (m *mode) code() int {
	c := int(m.pellet)
	for i, on := range []bool{m.seated, m.portOpen, m.inHop, m.stirred, m.brisk, m.rough, m.ahead} {
		if on {
			c |= 4 << i
		}
	}
	return c
}

func unpack(code int) mode {
	return mode{
		pellet: pelletMode(code & 3), seated: code&4 != 0, portOpen: code&8 != 0, inHop: code&16 != 0,
		stirred: code&32 != 0, brisk: code&64 != 0, rough: code&128 != 0, ahead: code&256 != 0,
	}
}

// String names the mode in errors.
func (m *mode) String() string {
	name := "piston flies"
	if m.seated {
		name = "piston seated"
	}
	if m.portOpen {
		name += ", port open"
	}
	name += [...]string{", pellet held", ", pellet slides", ", pellet out"}[m.pellet]
	if m.inHop && m.pellet != out {
		name += " in the hop"
	}
	return name
}
