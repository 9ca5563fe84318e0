package flight

import "math"

// Air is an ideal gas of two constants.
const (
	// Gamma is the ratio of specific heats [1].
	Gamma = 1.4
	// GasConstant is that of air [J/(kg K)].
	GasConstant = 287.05
)

const (
	cv = GasConstant / (Gamma - 1) // [J/(kg K)]
	cp = Gamma * cv                // [J/(kg K)]
)

const (
	// CriticalRatio is the ratio of pressures below which an orifice is choked,
	// r* = (2/(γ+1))^(γ/(γ−1)) = (5/6)^3.5 [1].
	CriticalRatio = 0.52828178771717412

	// straight is the ratio above which Psi is a straight line, a closure that keeps
	// its slope finite at 1.
	straight = 0.999

	psiChoked   = 0.68473145637727038 // Ψ(r*) = √γ·(5/6)³
	psiStraight = 0.04469739525840762 // Ψ(straight), from the formula of isentropic
	psiSlope    = psiStraight / (1 - straight)
)

// Psi returns the flow function Ψ of an orifice at a ratio of pressures,
// downstream to upstream (equation E3): that of a choked orifice below
// [CriticalRatio], isentropic above, a straight line down to 0 at 1 from 0.999
// on. Above 1 the flow runs the other way and the two sides are to be swapped;
// the value there is negative and has no meaning.
func Psi(r float64) float64 {
	switch {
	case r <= CriticalRatio:
		return psiChoked
	case r > straight:
		return psiSlope * (1 - r)
	}
	psi, _ := isentropic(r)
	return psi
}

// isentropic returns Ψ for CriticalRatio ≤ r < 1, and q = r^(1/7). With γ = 1.4
// all powers are sevenths: Ψ² = 7·(r^(10/7) − r^(12/7)) = 7·q¹⁰·(1 − q²).
func isentropic(r float64) (psi, q float64) {
	q = seventhRoot(r)
	q2 := q * q
	return q2 * q2 * q * math.Sqrt(7*(1-q2)), q
}
