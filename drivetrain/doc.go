// Package drivetrain describes what a spring-piston replica is made of, from the
// gears to the pellet, and gathers motor, battery and harness with it in a
// [Build].
//
// # Model
//
// Equations D1 to D11 of the reference model: ratio, sector, spring, tappet,
// spacer, seal, the load at the motor shaft and the inertias of pull and free phase; of a
// spring with waves (D12) its impedance and delay.
// What these parts do in time is computed in the folders below.
//
// # Symbols and units
//
// SI throughout, angles in radians, temperatures in kelvin. Ratio is motor turns
// per sector turn. The sector angle θ is fixed on the sector: 0 where the pickup
// happens without a spacer.
//
// # Sign convention
//
// Piston travel is counted from home, positive rearwards, in the direction of
// the pull; the sector's angle and speed are positive in the pull.
//
// # Range of validity
//
// Rigid gears and rack, inelastic pickup, constant mesh efficiency. The sector
// lets go where its last tooth's pitch point passes, unless a measured angle is
// given.
//
// # References
//
// Spring rate and stress: Shigley, Mechanical Engineering Design, ch. 10. The
// rest is elementary mechanics; closures are marked where they stand.
package drivetrain
