// Package sheet writes the page that a customer takes home: one HTML file without script,
// which loads nothing, for a technician to sign.
//
// [Make] looks at a build from all sides, and at what stands beside it: a firing plan, the
// build as it was before, bench readings. [Write] puts what came of it into the page, in
// this order: whose build it is; the verdict and what there is to mind; the figures that
// people ask of first, each with its meaning and what was wished; the build, part by part,
// with what was assumed; pictures; before and after; measured and computed; what the
// model leaves out; cautions, and how the page was made.
//
// # Where its words come from
//
// Figures, their names and meanings are those of the lists of the rooms that compute them
// (drivetrain/figure), keys and their meanings those of drivetrain/buildfile, findings and
// cautions those of drivetrain/study. The page has headings of its own, and little else.
//
// # What it promises
//
// The same order gives the same bytes, on any machine: there is no date but the one that
// is given. Whatever stands in a name or a text, it is shown as text, within its place.
package sheet
