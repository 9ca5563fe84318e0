// Package motor makes a brushed permanent-magnet motor of a stator and an
// armature and gives its constants.
//
// # Model
//
// Two magnet poles, an odd number of slots, lap winding, two brushes: equations
// A1 to A11, A16 and A17 of the reference model. A [Stator] (can, magnets, brushes)
// and an [Armature] (laminations, winding, commutator) are separate parts,
// because builders swap armatures between cans; [Assemble] makes a motor of any
// two that fit. [Motor.At] gives the [Constants] at the temperatures of winding
// and magnets; what the motor does in time is computed elsewhere.
//
// Each coil that is handed from brush to brush loses a share κ of its magnetic energy, in
// effect a resistance that grows with the speed (A16). With neutral brushes the share
// follows from the number of coils and from how far the teeth are saturated: they let a
// coil's flux grow the less, the more the magnets have filled them, but for what closes
// over slots and winding heads (A17, [DerivedCommutation], the build file's default). A
// motor from the bench has none: its readings hold it.
//
// # Symbols and units
//
// SI throughout: Ke in V·s/rad (the same number as Kt in N·m/A), speeds in
// rad/s, temperatures in kelvin. Turns are counted per tooth.
//
// # Sign convention
//
// Current, torque and speed are positive when the motor drives its load. Loss
// torque is positive and acts against the speed.
//
// # Range of validity
//
// Small motors with radial magnets. Saturation, inductance and commutation loss
// are engineering closures; armature reaction does not weaken the field; the
// field is uniform along the stack. The share of slot and end leakage in A17 is 0.35, of
// 0.25 to 0.5 in such motors; brushes that lead or lag lose less or more.
//
// # References
//
//   - A. E. Fitzgerald, C. Kingsley, S. D. Umans, Electric Machinery: EMF and
//     torque of the DC machine, permanent-magnet circuits.
//   - IEC 60028: resistivity of copper. IEC 60085: thermal classes.
package motor
