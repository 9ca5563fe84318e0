// Package ode integrates ordinary differential equations y' = f(t, y) with
// events.
//
// # Model
//
// A [Problem] holds the right-hand side, the span of time, the state at its
// start and the events. [New] makes a [Solver] from it; each [Solver.Step] makes
// one accepted step, whose length the solver chooses so that no component's
// estimated error exceeds its tolerance AbsTol + RelTol·|y|. The method is one of
// two; problem, events, dense output and driver do not know it:
//
//   - [DormandPrince], the default, is Dormand and Prince's explicit pair of orders
//     5 and 4.
//   - [Rodas] is the Rosenbrock pair RODAS of orders 4 and 3, for stiff problems.
//
// Inside a step the solution is a polynomial in s = (t − t0)/h,
//
//	y(s) = y0 + s(r1 + (1−s)(r2 + s(r3 + (1−s)r4)))
//
// of order 4, with Rodas of order 3 and r4 = 0. [Solver.At] evaluates it in the last step; a [Trajectory] keeps
// all of them, so that output is sampled afterwards and output points change
// nothing.
//
// # The stiff method
//
// Stage i of six solves a linear system with the Jacobian J at the step's start,
//
//	(I/(hγ) − J) k[i] = f(y0 + Σ a[i][j]·k[j]) + Σ c[i][j]·k[j]/h
//
// with the same matrix for all, which is factored once for each try. The last stage
// stands at the embedded result of order 3, y1 is that plus k[6], and k[6] is the
// error estimate. The method is A-stable and stiffly accurate: of a component that
// decays with the rate λ a step leaves some 1/(hλ).
//
// [Problem.Jacobian] must be the derivative of the right-hand side; a wrong one does
// not spoil the result, but costs order and steps. The form is that for right-hand
// sides without time. Where time occurs, the caller appends it as a state with the
// derivative 1; otherwise the order falls to 1 and steps become short.
//
// States that only collect, such as energies and means, stand last and are counted
// by [Problem.Passive]. Nothing depends on them, so the matrix of the others alone
// is factored, and each stage's k for them follows from its k for the others.
//
// Steps are chosen by the predictive controller, and by a PI controller with
// DormandPrince. A step whose matrix is singular is tried again at a tenth of its
// length; the Jacobian at its start is kept.
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
//     rounding in g allows: g there is zero or has the new sign. With an EventTol it
//     may be later by that part of the step.
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
// DormandPrince is for problems that are not stiff. On a stiff one its steps become
// short, up to [ErrTooManySteps] or [ErrStepTooSmall]. Rodas is for stiff and other
// problems of some ten dynamic states, since its matrix is dense, at tolerances down
// to some 1e-8; below, and where nothing is stiff, DormandPrince of order 5 needs
// fewer steps. RelTol below 1e-14 is refused, since rounding governs there.
//
// # References
//
//   - J. R. Dormand and P. J. Prince, A family of embedded Runge–Kutta formulae,
//     J. Comp. Appl. Math. 6 (1980) 19–26: the tableau.
//   - E. Hairer, S. P. Nørsett and G. Wanner, Solving Ordinary Differential
//     Equations I, 2nd ed., Springer 1993: the first step (II.4), the dense
//     output (II.6), from memory.
//   - E. Hairer and G. Wanner, Solving Ordinary Differential Equations II, 2nd
//     ed., Springer 1996: PI step control (IV.2) and predictive step control (IV.8),
//     from memory; RODAS (IV.7), not re-read in the primary text; held by measured
//     order and Robertson's problem.
package ode
