// Package search finds which builds from a shelf of parts meet a wish.
//
// A shelf ([buildfile.Shelf]) has a base build, slots and the parts that may go there.
// [Run] looks at every combination and yields what becomes of each; [Best], [Front] and
// [Nearest] keep a few of such a stream, and a [Report] keeps all that there is to say of
// a whole search, in memory that doesn't grow with it.
//
// # What is shared
//
// A gun in automatic fire is driven without its flights ([cycle.Evaluator.Drive]): rate of
// fire, currents and the speeds at which the rack is let go feel spring, piston, stroke and
// all that is electric, but not the air. A drive is remembered for all combinations that
// differ in cylinder, barrel and pellet alone. A flight feels spring, piston, stroke and
// air, and of all else that speed alone: where many electric choices share their flights,
// these are read off a [flight.Table].
//
// Which choices there are is told by the keys that parts lay. Whether tables are used is
// told by the shelf's counts; what a table says depends on its gun alone. So the figures of
// a combination never depend on what else a search, or a share of one, has looked at. A
// figure that is read off within a millionth of a want's bound is computed in full, and so
// is all that a Report lists.
//
// # Range of validity
//
// Prices are whole hundredths. Figures are compared rounded to nine significant digits, so
// that builds tie that differ only in what a figure doesn't feel. Tables are good to 1e-7
// of each figure (a margin to a nanosecond) at nodes and between, and fly ten times as
// exactly as cycle, whose flights are good to 1e-6. Pareto's front is that of Kung, Luccio &
// Preparata's definition (J. ACM 22, 1975, 469); it is kept by comparing with all of it.
package search
