// Package lsq finds the least sum of squares of functions that are not linear.
//
// # Model
//
// A [Problem] has m residuals r(u) of n unknowns u, their Jacobian J = ∂r/∂u, and a
// least and a largest value of each unknown. [Solve] looks for the u between them with
// the least S(u) = Σ r², by the method of Levenberg and Marquardt: the step p is
// the least-squares solution of
//
//	[   J   ]       [ r ]
//	[ √μ·D  ]·p = − [ 0 ]
//
// by a QR factorisation of that very matrix; JᵀJ, whose condition is the square of J's,
// is never formed. D holds the largest norm that each column of J has had so far (Moré
// 1978), so that the units of the unknowns don't matter. The damping μ follows the gain
// ϱ = (S − S⁺)/(S − |r + J·p|²) by Nielsen's rule (1999): an accepted step multiplies it
// by max(1/3, 1 − (2ϱ − 1)³), a refused one by ν = 2, 4, 8 and so on.
//
// Where r can't be computed ([ErrOutside], or a NaN), S counts as infinite. A step that
// leads over a bound ends there; an unknown at its bound whose gradient points outwards
// stands still in this step.
//
// The search ends when the undamped step would lower S by no more than
// [Settings.Gain]. That drop is the square of what of r lies in the space of J's columns:
// the measure of Bates & Watts (1981), which asks how far the residuals are from
// being at right angles to what the unknowns can do.
//
// What the residuals mean, where J comes from and whether priors stand among the rows is
// the caller's: rows [u; I] make an unknown one with a prior of standard deviation 1.
//
// # Validity
//
// The least S that is found is a local one. The S of a problem whose J has lost a column's
// direction is that of the other directions; [Covariance] then says so.
//
// # References
//
//   - Moré, The Levenberg-Marquardt algorithm: implementation and theory, Lecture
//     Notes in Mathematics 630, 1978, p. 105–116 (from memory)
//   - Nielsen, Damping parameter in Marquardt's method, IMM-REP-1999-05 (from memory)
//   - Bates & Watts, Technometrics 23, 1981, p. 179–183 (from memory)
package lsq
