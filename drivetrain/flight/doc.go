// Package flight simulates what follows the release: the spring drives the
// piston, the piston the air, the air the pellet.
//
// # Model
//
// Equations E1 to E9 of the reference model with D11 and D12, on the parts and the
// geometry D3, D5 and D9 of a build. E1 to E7 are plain physics, whose spring is a force
// and whose air has neither mass nor walls; each effect beyond them is on or off by
// itself. Two volumes of ideal gas, cylinder (1) and barrel behind
// the pellet (2), exchange mass and energy through orifices with each other and
// with the air around:
//
//	dm/dt = Σṁ        d(m·cv·T)/dt = Σṁ·cp·Tup − p·dV/dt
//	ṁ = CdA·pu/√(R·Tu)·Ψ(pd/pu)
//
// with V1 = Ac·x + Vd and V2 = Vb0 + Ab·z. Between 1 and 2 stands the nozzle,
// between 1 and the air around the leak past the seal and the port, between 2 and
// it the gap around the pellet, or the muzzle once the pellet is out. Piston and
// pellet move by
//
//	me·dv/dt  = −k·(x0 + x) + (p1 − pa)·Ac − Ff·tanh(v/0.05 m/s)
//	mb·dvb/dt = (p2 − pa)·Ab − Fhop(z) − Fb
//
// Which way is open, whether the pellet is held, slides or is out, whether it is
// in the hop, and whether the piston flies or is seated are modes; each change is
// a located event. The kinks of Ψ are continuous and stay in the right-hand side.
// The flight ends when the piston is seated, the pellet out or held, and neither
// pressure can move either again; [Status] names the ends there are.
//
// # The spring as a wave
//
// With [drivetrain.Spring].Waves, and a spring of a thousandth of the piston's mass or
// more, the spring is a uniform line of mass that is fixed at its rear (D12). Its force at
// the piston is Z·v and the push of what comes back from the rear, 2τ after it was sent:
//
//	Fs = Z·v + push(t)   Z = √(k·ms)   τ = √(ms/k)
//	push(t) = k·(x0 + s) + k·v0·t − Z·v0 up to 2τ, then push(t − 2τ) + 2·Z·v(t − 2τ)
//
// and the mass at the piston is its own. Each step is written down as the cubic that its
// echo will be. Where the piston's speed jumps, at release and stop, the push has a kink
// or a jump every 2τ from then on; steps end there. Waves don't die in a spring whose
// piston stands, so that a seated piston may lift as a wave passes; the flight's end is
// judged by k·x0. What the spring gives less than one without mass is the row Surge.
//
// # The air
//
// With moving air in the barrel (E9) half of the mass behind the pellet and the column in
// front of it move with the pellet, p2 is that of the energy without motion, and both have
// the friction of a smooth pipe. It holds from start to exit of the pellet. Walls at the
// temperature around take heat (E8): the cylinder through a conduction layer that grows
// from the release on, the barrel as a pipe with the flow that moves in it. A Reynolds
// number of 2300, and a pellet at 1 m/s, are jumps in these equations and located events
// as well. Where a flow is driven back over such a jump (a cold gas that is warmed by
// being stirred), it would follow itself without end: after sixteen within a microsecond
// the jump gets two values a thousandth to each side of the one, one for each direction.
//
// # Numbers
//
// The equations are stiff: through the nozzle the small volume behind the pellet
// follows the cylinder within a microsecond or so. They are integrated with a
// Rosenbrock method and an analytic Jacobian, as the deviation from the course that the last
// steps make expected; the tests have an explicit method as a cross-check. The exit of
// another shot of the same gun, let go at nearly the same speed, is found beside a flight,
// by what sets the two apart ([Neighbour]). Behind what moves, the state carries the work of the piston's drag, the
// enthalpy that has left, the heat to the walls, what the spring keeps and what the air
// in front of the pellet takes, so that the [Ledger] is kept to the integrator's accuracy
// and no row is a remainder.
//
// # Symbols and units
//
// SI throughout, pressures absolute. x and v: piston travel from home and speed;
// z and vb: the pellet's travel from where it is held at first, and speed; k, x0,
// me: spring rate, preload with spacer, moving mass; Ac and Ab: areas of cylinder
// and barrel; pa: ambient pressure; CdA: effective area.
//
// # Sign convention
//
// Times are counted from the release. The piston's travel and speed are positive
// rearwards, the pellet's towards the muzzle. A piston that comes home moves at a
// negative speed; its impact is given as a positive one. Flows are positive
// forwards and outwards.
//
// # Range of validity
//
// Air as an ideal gas with γ = 1.4, uniform in each volume, no pressure waves in barrel
// or cylinder: muzzle velocities well below the speed of sound. Against one-dimensional
// gas dynamics of the barrel, moving air comes within 0.8 % of the muzzle velocity; the
// factors on the heat to the walls are there for what a flat layer and a smooth pipe
// don't know. A spring's coils must not touch. Air drawn in comes at ambient temperature.
// At release both volumes are at ambient pressure and temperature. The piston's stop is
// inelastic and there is none behind. A flight of more than 10 s, or of more than
// 200,000 steps, is not followed; its status says so. That also bounds the steps that end
// at every 2τ: a light spring before a piston that is held for seconds may be given up
// where one without waves is found to be held.
//
// # References
//
//   - Isentropic and choked flow: NACA Report 1135, Equations, Tables, and Charts
//     for Compressible Flow, 1953.
//   - M. J. Moran, H. N. Shapiro, Fundamentals of Engineering Thermodynamics, ch. 4:
//     filling and emptying of volumes (from memory).
//   - Z. J. Rohrbach, T. R. Buresh, M. J. Madsen, Modeling the exit velocity of a
//     compressed air cannon, Am. J. Phys. 80 (2012) 24: the adiabatic gun, a limit of
//     this model.
//   - Impact on a bar and the echo of its end: A. de Saint-Venant, after
//     S. Timoshenko, J. N. Goodier, Theory of Elasticity (from memory). The first surge of
//     a spring: A. M. Wahl, Mechanical Springs (from memory).
//   - Gas that moves with the projectile: Lagrange's approximation, as in textbooks of
//     internal ballistics (from memory).
//   - The layer at the cylinder's wall: H. S. Carslaw, J. C. Jaeger, Conduction of Heat in
//     Solids (from memory). Pipes: V. Gnielinski, Int. Chem. Eng. 16 (1976) 359, with
//     Hausen's factor for short ones; H. Blasius (from memory). Viscosity and conductivity
//     of air: Sutherland's formula, with the constants of equation C2.
//   - Beside a flight: TR-BDF2, R. E. Bank et al., IEEE Trans. Electron Devices 32 (1985)
//     1992; M. E. Hosea, L. F. Shampine, Appl. Numer. Math. 20 (1996) 21 (from memory).
//   - The tanh of the drag's direction, the straight line of Ψ next to 1 and the
//     inelastic stop are closures of this project.
package flight
