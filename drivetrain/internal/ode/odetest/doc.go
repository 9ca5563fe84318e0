// Package odetest holds initial-value problems with known solutions, for tests of
// package ode and of what is built on it.
//
// # Model
//
// A [Problem] is smooth; its solution is published at some times, or known in
// closed form. It has a Jacobian, and [Problem.Autonomous] makes time a state of it,
// as Rosenbrock methods need. [Stiff] ones are among them. A [Switched] problem changes its mode at events whose times and
// states are known in closed form; [Switched.Run] integrates it.
//
// Each source says whether definition and values were read or are from memory. A
// definition from memory is held by the published values, which it meets.
//
// # References
//
//   - E. Hairer, S. P. Nørsett and G. Wanner, Solving Ordinary Differential
//     Equations I, 2nd ed., Springer 1993.
//   - T. E. Hull, W. H. Enright, B. M. Fellen and A. E. Sedgwick, Comparing
//     numerical methods for ordinary differential equations, SIAM J. Numer. Anal. 9
//     (1972) 603–637: DETEST.
//   - F. Mazzia and C. Magherini, Test set for initial value problem solvers,
//     University of Bari: Robertson's problem, HIRES and van der Pol's
//     oscillator.
//   - A. Prothero and A. Robinson, On the stability and accuracy of one-step
//     methods for solving stiff systems of ordinary differential equations, Math.
//     Comp. 28 (1974) 145–162.
package odetest
