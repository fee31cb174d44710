package rom

import "slices"

// ExerciseID names one exercise of the catalogue. What class an exercise has
// and what locks it are data of package protocol; how it looks is computed by
// app/figure; how it is described is in app/words.
type ExerciseID string

// The exercises.
const (
	TableSlideFlexion   ExerciseID = "table-slide-flexion"
	TableSlideAbduction ExerciseID = "table-slide-abduction"
	SupineElevation     ExerciseID = "supine-elevation" // lifted by the other arm
	Pendulum            ExerciseID = "pendulum"
	StickER             ExerciseID = "stick-external-rotation" // elbow supported at the side
	DoorwayER           ExerciseID = "doorway-external-rotation"
	WallClimbFlexion    ExerciseID = "wall-climb-flexion"
	WallClimbAbduction  ExerciseID = "wall-climb-abduction"
	TowelBehindBack     ExerciseID = "towel-behind-back"
	SideLyingIR         ExerciseID = "side-lying-internal-rotation"
	CrossBodyStretch    ExerciseID = "cross-body-stretch"
	ElbowBend           ExerciseID = "elbow-bend"
	ForearmTurn         ExerciseID = "forearm-turn"
	WristHand           ExerciseID = "wrist-and-hand"
	ScapularSetting     ExerciseID = "scapular-setting"
	ActiveElevation     ExerciseID = "active-elevation"
	IsometricRotation   ExerciseID = "isometric-rotation"
	BandRotation        ExerciseID = "band-rotation"
)

// Exercises lists the catalogue in the order in which a recovery meets it.
var Exercises = []ExerciseID{
	WristHand, ElbowBend, ForearmTurn, ScapularSetting, Pendulum,
	TableSlideFlexion, TableSlideAbduction, SupineElevation, StickER, DoorwayER,
	WallClimbFlexion, WallClimbAbduction, TowelBehindBack, SideLyingIR, CrossBodyStretch,
	ActiveElevation, IsometricRotation, BandRotation,
}

// Valid reports whether e is in the catalogue.
func (e ExerciseID) Valid() bool { return slices.Contains(Exercises, e) }
