package motor

import "math"

// KeFromNoLoad returns Ke [V s/rad] and the loss torque at that speed [N m] of a
// motor that runs unloaded at a speed [rad/s], drawing a current [A] at a
// voltage [V]; its terminal resistance [ohm] and brush drop [V] are known
// (equation A13).
func KeFromNoLoad(voltage, speed, current, resistance, brushDrop float64) (ke, lossTorque float64) {
	ke = (voltage - brushDrop - resistance*current) / speed
	return ke, ke * current
}

// PeakEfficiency returns the best efficiency [1] of a motor whose loss torque
// does not depend on speed, and the current [A] where it has it, from its
// no-load and stall currents [A]: (1 − √(I0/Is))² at √(I0·Is). From memory, a
// textbook formula.
func PeakEfficiency(noLoad, stall float64) (efficiency, current float64) {
	root := 1 - math.Sqrt(noLoad/stall)
	return root * root, math.Sqrt(noLoad * stall)
}
