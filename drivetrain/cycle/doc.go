// Package cycle simulates a gun: in single fire, one pull of the trigger from
// closing the switch to rest; in automatic fire, the first shot from rest and
// the steady cycle that repeats from pickup to pickup, with the flight of piston
// and pellet between release and pickup.
//
// # Model
//
// Equations F1 to F8 of the reference model over the constants
// of A to D: the pack with its RC pairs, motor and harness as one loop with the
// motor's inductance; the shaft with drag, tappet, gears, rack and spring as the
// load. Pull and free phase, the shaft held by the latch, and the direction of
// the current through the brushes are modes; each change is a located event. The
// first shot integrates the pack's charge and RC voltages; the steady cycle holds
// them and is periodic in current and speed. A shaft that stands and can't be
// moved by the current that would flow is a stall, which is a result.
//
// A gun whose shots never come to be alike hunts, which is a result as well (Hunt).
//
// The cut-off opens the switch of a single shot: the motor's current goes on
// through the flyback diode, or ends between contacts; the shaft coasts, or is
// braked by a short, and may pick up and release again before it stands.
//
// Each release starts a flight (package flight), which depends on the motor only
// through the speed of the rack at release and does not act back on it: the next
// pickup finds the piston at rest at home. Where it would not be, that is premature
// engagement; the train goes on as if it were, the flight is completed apart, and
// how and where the two would meet is reported.
//
// # Symbols and units
//
// SI throughout, angles in radians. Times are counted from the closing of the
// switch (first shot) or from just after a pickup (steady cycle).
//
// # Sign convention
//
// Current is positive when it discharges the pack, speed and sector angle in the
// direction of the pull.
//
// # Range of validity
//
// The brake shorts the motor alone; leads and their inductance are not in that
// loop. An arc between contacts takes no time. Resistances and capacitances of the pack are those of
// the charge at the start; the open-circuit voltage follows the running charge
// in the first shot. Temperatures stand still.
//
// # References
//
//   - The equations are those of a DC machine with inductance (Fitzgerald,
//     Electric Machinery, ch. 7) and of rigid-body mechanics.
//   - E. Hairer, G. Wanner, Solving Ordinary Differential Equations II, section IV.5:
//     the implicit Runge–Kutta methods of Radau, for stiff stretches.
//   - C. G. Broyden, A class of methods for solving nonlinear simultaneous
//     equations, Math. Comp. 19 (1965) 577–593: the search for the steady cycle.
package cycle
