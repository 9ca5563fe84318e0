// Package ode integrates ordinary differential equations y' = f(t, y) with
// events.
//
// # Model
//
// A [Problem] holds the right-hand side, the span of time, the state at its
// start and the events. [New] makes a [Solver] from it; each [Solver.Step] makes
// one accepted step, whose length the solver chooses so that no component's
// estimated error exceeds its tolerance AbsTol + RelTol·|y|. The method is
// Dormand and Prince's pair of orders 5 and 4 ([DormandPrince]); problem,
// events, dense output and step control do not know it.
//
// Inside a step the solution is a polynomial in s = (t − t0)/h,
//
//	y(s) = y0 + s(r1 + (1−s)(r2 + s(r3 + (1−s)r4)))
//
// of order 4. [Solver.At] evaluates it in the last step; a [Trajectory] keeps
// all of them, so that output is sampled afterwards and output points change
// nothing.
//
// # Discontinuities
//
// The right-hand side must be smooth within a step. A discontinuity is an
// event: a terminal one ends the step on the crossing, the caller switches a
// mode that the right-hand side reads, and [Solver.Reset] restarts from the
// state after the switch. The right-hand side never branches on a threshold of
// the state. Continuous kinks may stay in it.
//
// # Events
//
// An event is a crossing of zero by a function g(t, y). Each step's polynomial
// is sampled at its end and at a few points inside; between two samples of
// different sign the root is bisected to the last float. The step is then
// repeated with the method itself from its start to the root, and the root is
// corrected on that, because inside a long step the polynomial is less accurate
// than the step. The state given out is that of the repeated step.
//
//   - The time reported is the first float at or after the crossing, as far as
//     rounding in g allows: g there is zero or has the new sign.
//   - A root that is touched without a change of sign, and two crossings between
//     neighbouring samples, can be missed. MaxStep bounds the distance.
//   - A function that reaches zero exactly counts as crossing; it is then
//     disarmed until it leaves zero. A function that is zero after New or Reset
//     is disarmed as well, whichever way it leaves.
//   - Ties are reported in the order of Problem.Events. The earliest terminal
//     crossing ends the step; what comes after it is not reported.
//   - A crossing that the polynomial makes and the repeated steps do not is reported
//     with time and state of the polynomial.
//   - A function should be smooth near its root. At a jump of g the time is as
//     accurate as the polynomial.
//
// # Conventions
//
// Time runs forward and strictly increases from step to step. The package has
// no units of its own: t is in the caller's unit of time, y in the caller's
// units, AbsTol in those of its component. Deriv is not called at times outside
// [T0, T1], and T1 is landed on exactly.
//
// # Range of validity
//
// Non-stiff problems. On a stiff one the steps become short, up to
// [ErrTooManySteps] or [ErrStepTooSmall]. RelTol below 1e-14 is refused, since
// rounding governs there.
//
// # References
//
//   - J. R. Dormand and P. J. Prince, A family of embedded Runge–Kutta formulae,
//     J. Comp. Appl. Math. 6 (1980) 19–26: the tableau.
//   - E. Hairer, S. P. Nørsett and G. Wanner, Solving Ordinary Differential
//     Equations I, 2nd ed., Springer 1993: the first step (II.4), the dense
//     output (II.6), from memory.
//   - E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2nd
//     ed., Springer 1996: PI step control (IV.2), from memory.
package ode
