// Package listen hears bursts, shots and rate of fire in a sound recording of a gun on
// the bench. It knows no build.
//
// # Model
//
// A gun is heard as a periodic pattern: the whine of motor and gears, the click of the
// pickup, the strike of the piston with the muzzle's pop within 3 ms of it, and echoes
// of all. There is one strike a shot, the loudest and broadest rise of the sound.
// Equations L1 to L10 of the reference model:
//
//   - The spectrum of every millisecond is cut into bands of half an octave (L1, L2), and
//     the onset strength is by how much their amplitudes rise in 4 ms, each in units of its
//     floor (L3; spectral flux, after Bello et al. 2005). What stands out is a peak (L4).
//   - Peaks at most a fifth of a second apart are a group, which is tried as a burst; what
//     is none is single shots (L5). A group's period is a lag at which its strength repeats,
//     and at which a chain of places takes nearly all of the strength, evenly (L6). The
//     chain follows a rate that sags (L7, after Ellis 2007); what is weak at its ends is no
//     shot (L8).
//   - The rate is that of a straight line or parabola through the times over the shots'
//     numbers, at its middle (L9); the recording's is the mean of its bursts (L10).
//
// # Symbols and units
//
// Times count from the beginning of the recording, in seconds; rates are shots a
// second; strengths have no unit and don't depend on the gain. Standard deviations are
// one sd.
//
// # Range of validity
//
// 6 to 50 shots a second, bursts of three and more. The rate is that of the whole burst,
// at this charge of the pack. Not told from the sound are: the time from the trigger to the
// shot, a blow near the microphone from a single shot, an echo just one period late from
// a last shot. No real gun was recorded: thresholds were set on invented recordings.
//
// # References
//
// Bello et al., IEEE Trans. Speech Audio Proc. 13(5), 2005, 1035; Ellis, J. New Music
// Research 36(1), 2007, 51.
package listen
