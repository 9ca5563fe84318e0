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
//
// # Guns
//
// [Run] draws guns of a build whose keys carry tolerances ([Keys]): normal, two standard deviations
// to each side as stated, cut at three, at 0 where no part has less, and at 0 and 100 % of
// shares; whole numbers are the nearest ones. Keys are taken to be independent. What is said of a gun
// is what drivetrain/study says of its build. A [Misfit] is a draw that gives no build; it
// meets nothing.
//
// # Reach
//
// [Reach] is what would bring more guns to be sound: one key alone, all tolerances alike, a plan of several
// steps. Polynomials of the keys stand for the figures while it is looked for; guns that
// are fired confirm it. It changes parts on paper: whether a part can be had to a tolerance, and
// at what price, it doesn't know.
//
// # Range of validity
//
// At most 60 keys. First orders of shares near 0 or 1 want more draws than those of figures: each
// statistic says how well it is known. The standard errors come from eight replicates, and are
// themselves good to a quarter.
//
// # References
//
// Ishigami & Homma, ISUMA 1990, 398; Sobol', Math. Model. Comput. Exp. 1, 1993, 407; Jansen, Comput. Phys.
// Commun. 117, 1999, 35; Saltelli et al., Comput. Phys. Commun. 181, 2010, 259; Joe & Kuo, SIAM J. Sci.
// Comput. 30, 2008, 2635; Matoušek, J. Complexity 14, 1998, 527; Wilson, J. Am. Stat. Assoc. 22, 1927, 209;
// Hazen, Trans. Am. Soc. Civ. Eng. 77, 1914, 1539.
package spread
