// Package pickup looks at how sector and rack meet: where the sector's first
// tooth strikes the pickup tooth, which spacer makes that square, which rack teeth
// then stand in the way, how the pull is handed from tooth to tooth, and what
// rack and spring bear.
//
// # Model
//
// Equations H1 to H6 of the reference model. The sector is an involute gear, the
// rack its straight-sided counterpart, both rigid and cut from module, tooth
// counts, pressure angle, addendum, clearance and backlash. H1 is the first
// contact with the rack at rest, H2 the spacer and its stack of pads, H3 the teeth
// to be taken down and the hand-over through the pull, H4 the blow of the pickup,
// H5 the bending of a rack tooth (Lewis), H6 the spring's stress and solid length.
// [Examine] is the geometry alone, [Analyse] adds strength and the cycle before
// and after.
//
// # Symbols and units
//
// SI throughout, angles in radians. The sector's centre is the origin, x points
// rearwards and y from the sector to the rack, whose pitch line is y = rp. The
// sector angle θ of this package is 0 where the leading flank of sector tooth 1,
// on the pitch circle, stands on the line of centres; θ of equation D5, which
// cycle uses, is larger by rack.pickup_offset over rp. Rack tooth 1 is the pickup
// tooth, 2, 3 and on lie in front of it. The offset e is how far its driven flank
// stands ahead of the line of centres, on the pitch line, with the piston home.
//
// # Sign convention
//
// Sector angles and the rack's travel are positive in the pull. The contact angle
// is positive ahead of the line of centres, negative where the sector comes late.
//
// # Range of validity
//
// Static strengths and rigid inertias: safety is strength over stress, a
// comparison between builds and no promise. A rack tooth that is taken down is
// cut flat. Wear, rounded corners, fatigue and the give of the train are left out.
//
// # How the model's open ends are read
//
//   - Contact, angles and depth are those of the pickup tooth even where another
//     rack tooth blocks it; FirstTooth says which one is met first.
//   - Depth of contact does not exist where the pickup tooth is taken down to the
//     pitch line or beyond, nor a stress where the line of the force passes at or
//     beyond the tooth's root.
//   - Clearance is that of the lifted rack: a lift that lets tips into roots or
//     flanks into flanks is refused like a negative clearance.
//   - Where the drive is lost, stroke and release are those of the loss.
//   - The slip is the largest fall of a pull, and like stroke and release reckoned
//     where the corner of the sector's tip lets go. The course of the pull
//     ([HandOver.At]) goes further: the rack's corner rides on that tip until it has
//     passed, since else one would enter the other.
//   - Tips that would meet head on in the pull are no part of the equations; they
//     are reported as strikes.
//   - Nor is a sector whose next first tooth comes among the rack's before the last
//     one has let go: it is reported as caught. Until then no tooth enters another.
//   - The cycle is the automatic one whatever trigger.mode says.
//
// # References
//
//   - Involute gear and rack: Colbourne, The Geometry of Involute Gears, ch. 2
//     and 3 (from memory).
//   - Bending: W. Lewis, 1892, after Shigley, Mechanical Engineering Design, ch. 14.
//   - Tooth stiffness: ISO 6336-1, 14 N/(mm·µm) for steel on steel, scaled by the
//     materials' moduli. The stiffness of the piston's body is a closure.
//   - Spring: Shigley, ch. 10 (allowable share from memory); ASTM A228 strength.
//   - Loss of a mesh: ISO/TR 14179-2.
package pickup
