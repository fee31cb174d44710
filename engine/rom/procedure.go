package rom

import "slices"

// Procedure is one thing done to the shoulder in one operation.
type Procedure string

// The procedures for which starting protocols exist.
const (
	CuffRepair               Procedure = "cuff-repair"       // rotator cuff, small or medium tear
	CuffRepairLarge          Procedure = "cuff-repair-large" // rotator cuff, large or massive tear
	SubscapularisRepair      Procedure = "subscapularis-repair"
	AnteriorLabralRepair     Procedure = "anterior-labral-repair"
	PosteriorLabralRepair    Procedure = "posterior-labral-repair"
	SLAPRepair               Procedure = "slap-repair"
	BicepsTenodesis          Procedure = "biceps-tenodesis"
	CapsularRelease          Procedure = "capsular-release" // or manipulation under anaesthetic
	SubacromialDecompression Procedure = "subacromial-decompression"
)

// Procedures lists them all.
var Procedures = []Procedure{
	CuffRepair, CuffRepairLarge, SubscapularisRepair, AnteriorLabralRepair, PosteriorLabralRepair,
	SLAPRepair, BicepsTenodesis, CapsularRelease, SubacromialDecompression,
}

// Valid reports whether p is one of Procedures.
func (p Procedure) Valid() bool { return slices.Contains(Procedures, p) }

// Cuff reports whether p repairs a tendon of the rotator cuff.
func (p Procedure) Cuff() bool {
	return p == CuffRepair || p == CuffRepairLarge || p == SubscapularisRepair
}

// Labral reports whether p repairs the labrum.
func (p Procedure) Labral() bool {
	return p == AnteriorLabralRepair || p == PosteriorLabralRepair || p == SLAPRepair
}

// Repair reports whether p leaves sutured tissue that must heal. After a
// release or a decompression there is none, and doing too little is the fault.
func (p Procedure) Repair() bool {
	return p.Cuff() || p.Labral() || p == BicepsTenodesis
}
