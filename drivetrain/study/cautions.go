package study

// Cautions stand below every result that people read. Their sources: ASTM F2879
// (eye protective devices for this sport); Marshall, Dahlstrom & Powley, Am. J.
// Forensic Med. Pathol. 32(2), 2011 (eye penetration by 6 mm projectiles);
// IEC 62133-2 and UN Manual of Tests and Criteria 38.3 (lithium packs).
func Cautions() []string {
	return []string{
		"Wear eye protection made for this sport (ASTM F2879), on the bench too, and so does everyone near. A 6 mm projectile was found to penetrate eyes above 99 m/s (Marshall, Dahlstrom & Powley 2011); no lower velocity is called safe here.",
		"How much muzzle energy is allowed is decided by local law and club rules; measure it before the gun is used.",
		"Take the pack out before the shell is opened, and fire off a pulled spring first.",
		"Lithium packs burn: charge them watched, never beyond their rating, and retire damaged ones (IEC 62133-2, UN 38.3).",
		"Motor, leads, switch and fuse get hot. Wiring is a matter for qualified people and local codes.",
		"These are figures of a model that no real gun was measured against.",
	}
}
