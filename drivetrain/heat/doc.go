// Package heat follows the temperatures of a build's parts over a firing plan of
// bursts, single shots and pauses: winding, magnets, brushes, leads, connectors,
// switch, pack and fuse, against their limits, and says which gives out first.
//
// # Model
//
// Equations A12, B4, C2 to C6 and G1 to G11 of the reference model. The parts are a
// [Network] of nodes that store heat and paths between them, both data. A plan is gone
// through round by round ([cycle.Fire]): temperatures are held inside a round, at its
// end its losses, spread evenly over its duration, advance the network; in a pause the
// parts cool and the pack's RC pairs relax into it.
//
// The leads are copper in a jacket in still air: free convection of a horizontal
// cylinder and radiation ([Cable]). A fuse forgets: its integral of the current
// squared decays so that 1.2 times the rating just melts it. What is reported of a
// switch is its hottest place at the peak current of the round, held for the round:
// the junction of a MOSFET, the spot between contacts.
//
// # Rounds used again
//
// A round depends on its start through five numbers: the voltage that drives the
// current, the resistance of the loop, Ke, and current and speed at the pickup. A
// solved round is used again for a start within the windows of equation G10, and then
// corrected to first order in these five, by slopes from rounds fired to both sides;
// what resistances turn into heat is reckoned with those of its own start. Where the
// rounds to both sides differ in their releases, each is solved anew. The cost grows
// with the thermal states that differ; what is left for each round is the network.
// [Settings.RoundByRound] does without; a test holds the two within 0.02 K.
//
// # Symbols and units
//
// SI throughout, temperatures in kelvin; the network's are rises above the
// surroundings. Times are counted from the start of the plan.
//
// # Sign convention
//
// Heat that leaves a node along a path is positive; given off is what the
// surroundings take.
//
// # Range of validity
//
// Still air, every part by itself: no part warms another but by the paths of the
// model, and leads give nothing to motor or pack. Contacts are of pure metal. Nodes
// have one temperature each: a brush's spot or a hot strand is hotter. A round whose
// releases hang by a thread (a train that overruns) may come out otherwise when it is
// used again. Onderdonk's formula holds for some 10 s.
//
// # References
//
//   - IEC 60085 (classes of insulation), IEC 60949 (short-time heating of copper),
//     IEC 60287 and 60853-2 (jackets): see the constants.
//   - S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975)
//     1049–1053: the horizontal cylinder (from memory).
//   - R. Holm, Electric Contacts, 4th ed.: spot, softening, arcs (from memory).
//   - Onderdonk's formula as engineering tables give it.
package heat
