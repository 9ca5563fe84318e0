// Package fit corrects a build by what a bench has measured of it.
//
// # Model
//
// The losses of a gun that is put together are known within some tens of per cent only.
// Each is an [Unknown] x with a prior belief: a mean x0, the build's value, and a standard
// deviation σ, half the ± that the build states or that is usual for the key. An unknown moves
// by u, which is 0 at x0 and whose prior standard deviation is 1:
//
//	log     x = x0·exp(u·σ/x0)                      what can't be negative
//	share   logit x = logit x0 + u·σ/(x0·(1 − x0))  a share well inside 0 and 1
//	linear  x = x0 + σ·u                            the rest, within 0 and 1 if a share
//
// A reading y, of standard deviation s, is compared with the figure f(u) that is computed
// under its own conditions (another pellet, another charge, the motor alone on a supply).
// An instrument whose scale is itself in doubt multiplies its figures by 1 + b, and b is an
// unknown. The estimate is the u with the least
//
//	S(u) = Σ ρ((f(u) − y)/s) + Σ u²,  ρ(r) = r²
//
// the maximum of the posterior density: what is unknown moves as little as needed to agree
// with the readings. With [Settings.Robust], ρ is Huber's (1964): r² up to 1.345, straight
// lines beyond; it is found by weights w = min(1, 1.345/|r|), anew after each search.
//
// What the readings don't see at all (a column of the derivatives shorter than 0.1) is not
// fitted, keeps x0, and counts by its prior wherever figures are predicted.
//
// # What is said of it
//
// With J the derivatives of the residuals and W the weights, the covariance of u is
// C = (JᵀWJ + 1)⁻¹. An unknown's [Estimate.ToldRatio] is √C of its own: 1 where nothing was
// learnt. Pairs whose correlation is 0.8 or more are told only as one. The χ² of S has as
// many degrees of freedom as there are readings, since a prior is a reading of its unknown.
// The leverage of a reading is h = w·g·C·gᵀ, g its row of J; over 3 standard deviations,
// (y − f)/(s·√(1 − h)), it is an outlier (Belsley, Kuh & Welsch 1980). A figure's variance
// is g·C·gᵀ with its own derivatives; one more reading with derivatives c and standard
// deviation s would take the share (t·C·cᵀ)²/((s² + c·C·cᵀ)·(t·C·tᵀ)) off that of the target
// t, which is what [Next] sorts by.
//
// # Range of validity
//
// All ± follow from derivatives at the estimate: they hold as far as figures are straight
// over a standard deviation. The estimate is a local one; [Settings.Starts] looks from
// elsewhere. A fit speaks of this model: what the model lacks is pressed into the unknowns
// that it has, and a good p proves nothing of the gun.
//
// # References
//
//   - Huber, Robust estimation of a location parameter, Annals of Mathematical Statistics
//     35, 1964, p. 73 (from memory)
//   - Belsley, Kuh & Welsch, Regression diagnostics, 1980 (from memory)
//   - the search: package lsq
package fit
