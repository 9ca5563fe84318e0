// Package spread tells how far figures spread when parts come with tolerances.
//
// # What it knows of no gun
//
// [Analyse] asks any function at draws of its inputs and returns, for each output, mean,
// standard deviation and percentiles, how much each input decides of the variance, and what
// of it lies within one of a kind and between several. The draws are Sobol' points,
// scrambled anew for each of a few replicates: they fill the inputs' room evenly, so that an
// error falls nearly with the number of draws and not with its root, and how far the
// replicates lie apart is the standard error that each statistic comes with.
//
// # Indices
//
// With f0 and V mean and variance of an output, A and B two draws that share nothing, and Ci
// the draw A with input i of B:
//
//	first order  Si = mean((fB − f0)·(fCi − fA))/V    Saltelli et al. 2010
//	total        Ti = mean((fA − fCi)²)/(2V)          Jansen 1999
//
// Si is the share of the variance that input i makes by itself, Ti the share that it has a
// hand in. With several inputs exchanged at once, T·V is the variance that they make
// while the others stay as they are, and V − T·V what the others make on the average.
package spread
