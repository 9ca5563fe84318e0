package cycle

// The state vector. Behind what moves stand the integrals that the ledger and
// the means are made of; nothing depends on them.
const (
	current  = iota // i [A]
	speed           // ω of the motor [rad/s]
	angle           // θ of the sector [rad]
	voltage1        // v1 [V]
	voltage2        // v2 [V]
	charge          // s [1]

	sumCurrent // ∫i dt [C]
	sumBrush   // ∫|i| dt [C]
	sumSquare  // ∫i² dt [A2 s]
	sumReverse // ∫ω·i² dt [A2]
	sumSpeed2  // ∫ω² dt [rad2/s]
	sumSource  // ∫OCV·i dt [J]
	sumPairs   // ∫(v1²/R1 + v2²/R2) dt [J]

	states
)

var stateNames = []string{
	"current", "speed", "angle", "v1", "v2", "charge",
	"∫i", "∫|i|", "∫i²", "∫ωi²", "∫ω²", "∫OCV·i", "∫v²/R",
}
