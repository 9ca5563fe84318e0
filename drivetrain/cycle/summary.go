package cycle

import (
	"math"
	"reflect"
)

// Summary is what a build does, in figures. A figure that doesn't exist for the
// build is NaN. Figures of the flight are those of the steady cycle.
type Summary struct {
	// RateOfFire is shots per second in the steady cycle, whatever the lobes [1/s].
	RateOfFire float64
	// Period is from pickup to pickup in the steady cycle [s].
	Period float64
	// ReleaseTime is from closing the switch to the first release [s].
	ReleaseTime float64
	// TriggerDelay is from closing the switch to the muzzle exit of the first shot [s].
	TriggerDelay float64
	// FreeTime is from release to the next pickup in the steady cycle [s].
	FreeTime float64
	// TimeToHome is from release until the piston is home for good [s].
	TimeToHome float64
	// PMEMargin is FreeTime less TimeToHome; negative is premature engagement [s].
	PMEMargin float64
	// PMERateOfFire is the rate of fire at which the margin would be used up [1/s].
	PMERateOfFire float64
	// MuzzleVelocity is that of the pellet [m/s].
	MuzzleVelocity float64
	// MuzzleEnergy is that of the pellet [J].
	MuzzleEnergy float64
	// SweptVolume is the air pushed once the port has shut [m3].
	SweptVolume float64
	// BarrelVolume is the room that the pellet's travel sweeps [m3].
	BarrelVolume float64
	// PistonImpact is the piston's speed when it first arrives home [m/s].
	PistonImpact float64
	// Stroke is the piston's travel [m].
	Stroke float64
	// SpringEnergy is what the spring gains over the stroke [J].
	SpringEnergy float64
	// SpringPeakForce is the spring's force at release [N].
	SpringPeakForce float64
	// CurrentPeak is the largest battery current of the steady period; of a
	// stall, Inrush [A].
	CurrentPeak float64
	// CurrentMean is the mean battery current over the steady period [A].
	CurrentMean float64
	// CurrentRMS is the root mean square of the battery current over the steady
	// period [A].
	CurrentRMS float64
	// Inrush is the largest battery current of the first shot, up to the next pickup,
	// or up to a stall [A].
	Inrush float64
	// PackVoltageMin is the least pack voltage over the first shot and the steady
	// period [V].
	PackVoltageMin float64
	// ChargePerShot is what a steady shot takes from the pack [C].
	ChargePerShot float64
	// ShotsPerCharge is how many such shots a full pack gives before its reserve [1].
	ShotsPerCharge float64
	// StallAngle is the sector angle where the first shot comes to rest [rad].
	StallAngle float64
	// StallCurrent is what flows there [A].
	StallCurrent float64
	// StallTime is when the shaft stopped [s].
	StallTime float64
	// OverallEfficiency is the pellet's energy over the pack's chemical energy [1].
	OverallEfficiency float64
	// Overspin is the sector angle turned after a single shot's switch has opened,
	// counted on through further pickups [rad].
	Overspin float64
	// StopAngle is the sector angle at which the train stands after a single shot [rad].
	StopAngle float64
	// TimeToRest is from closing the switch of a single shot until the train stands [s].
	TimeToRest float64
	// ReleaseSpeed is the rack's when it is let go in the steady cycle, rearwards [m/s].
	ReleaseSpeed float64
	// EngagementSpeed is how fast the sector's tooth and the rack would meet if the
	// piston is not home at the pickup (equation F8), negative where the piston is
	// thrown back faster than the tooth comes; NaN if it is home [m/s].
	EngagementSpeed float64
	// EngagementTravel is how far from home the piston is then [m].
	EngagementTravel float64
	// EngagementShare is EngagementTravel over the stroke [1].
	EngagementShare float64
	// MotorHeat is what winding, brushes and the motor's drag turn into heat, on
	// the average of the steady cycle [W].
	MotorHeat float64
	// DemagnetisationMargin is the share of the magnets' coercivity that is left at
	// the inrush, or at the largest braking current (equation A15); negative where they weaken for good [1].
	DemagnetisationMargin float64
}

// emptySummary is one in which nothing exists.
func emptySummary() Summary { return nothing }

var nothing = func() (s Summary) {
	v := reflect.ValueOf(&s).Elem()
	for i := range v.NumField() {
		v.Field(i).SetFloat(math.NaN())
	}
	return s
}()
