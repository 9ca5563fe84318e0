// Package flight simulates what follows the release: the spring drives the
// piston, the piston the air, the air the pellet.
//
// # Model
//
// Equations E1 to E7 of the reference model, on the parts and the geometry D3,
// D5 and D9 of a build. Two volumes of ideal gas, cylinder (1) and barrel behind
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
// The equations are stiff: through the nozzle the small volume behind the pellet
// follows the cylinder within a microsecond or so. They are integrated with a
// Rosenbrock method and an analytic Jacobian; [Settings] has an explicit method
// as a cross-check. Behind what moves, the state carries the work of the piston's
// drag and the enthalpy that has left, so that the [Ledger] is kept to the
// integrator's accuracy and no row is a remainder.
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
// Air as an ideal gas with γ = 1.4, uniform in each volume, no heat to the walls,
// no friction in the gas and no waves in barrel or cylinder: muzzle velocities well
// below the speed of sound. Air drawn in comes at ambient temperature. At release
// both volumes are at ambient pressure and temperature. The piston's stop is
// inelastic and there is none behind. A flight of more than 10 s, or of more than
// 200,000 steps, is not followed; its status says so.
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
//   - The tanh of the drag's direction, the straight line of Ψ next to 1 and the
//     inelastic stop are closures of this project.
package flight
