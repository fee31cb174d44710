package gonio

import "unsling/engine/rom"

var (
	sideMarks  = []Landmark{MidAxillary, Acromion, Epicondyle}
	frontMarks = []Landmark{SternumTop, SternumLine, Acromion, Epicondyle}
	crossMarks = []Landmark{OtherAcromion, Acromion, Epicondyle}
	turnMarks  = []Landmark{OtherAcromion, Acromion, Olecranon, Styloid}
	bedMarks   = []Landmark{MidAxillary, Armpit, Olecranon, Styloid}
	elbowMarks = []Landmark{Acromion, Epicondyle, Styloid}
	fistMarks  = []Landmark{Epicondyle, Acromion, PencilLow, PencilHigh}
	backMarks  = []Landmark{SpineC7, SpinePSIS, ThumbTip}
)

// The set-ups in common: a propped phone needs the whole trunk in view; a
// picture from above needs somebody to hold it.
var (
	alone     = []Setup{Propped, WithHelper}
	byHelper  = []Setup{WithHelper}
	strapOn   = []Setup{Strapped, WithHelper}
	layOn     = []Setup{FreeHand, Strapped, WithHelper}
	inTheFist = []Setup{FreeHand}
)

// guides is the table behind GuideFor. Lines and fulcra follow NORKIN2016 and
// VAIRO2012 Table 1; which set-up one person can manage is derived.
var guides = map[rom.Motion]Guide{
	rom.ForwardFlexion: {
		Ways: []Way{
			{Method: rom.Photo, Position: rom.Supine, View: FromSide, Landmarks: sideMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Seated, View: FromSide, Landmarks: sideMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Standing, View: FromSide, Landmarks: sideMarks, Setups: alone},
			{Method: rom.Tilt, Position: rom.Seated, Trunk: true, Setups: layOn},
			{Method: rom.Tilt, Position: rom.Standing, Trunk: true, Setups: layOn},
			{Method: rom.Tilt, Position: rom.Supine, Trunk: true, Setups: strapOn},
		},
		HoldStill: "hold.thorax",
		WatchFor:  []string{"watch.arched-back", "watch.rib-flare", "watch.trunk-lean", "watch.shrug", "watch.drift-out"},
	},
	rom.Scaption: {
		Ways: []Way{
			{Method: rom.Tilt, Position: rom.Seated, Trunk: true, Setups: layOn},
			{Method: rom.Tilt, Position: rom.Standing, Trunk: true, Setups: layOn},
			{Method: rom.Photo, Position: rom.Seated, View: FromFront, Landmarks: frontMarks, Setups: byHelper},
			{Method: rom.Photo, Position: rom.Standing, View: FromFront, Landmarks: frontMarks, Setups: byHelper},
		},
		Cannot:    []Cannot{{rom.Tilt, rom.Supine, ReasonOtherZero}},
		HoldStill: "hold.thorax",
		WatchFor:  []string{"watch.shrug", "watch.side-lean"},
	},
	rom.Abduction: {
		Ways: []Way{
			{Method: rom.Photo, Position: rom.Supine, View: FromAbove, Landmarks: frontMarks, Setups: byHelper},
			{Method: rom.Photo, Position: rom.Seated, View: FromFront, Landmarks: frontMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Standing, View: FromFront, Landmarks: frontMarks, Setups: alone},
			{Method: rom.Tilt, Position: rom.Seated, Trunk: true, Setups: layOn},
			{Method: rom.Tilt, Position: rom.Standing, Trunk: true, Setups: layOn},
		},
		Cannot:    []Cannot{{rom.Tilt, rom.Supine, ReasonVertical}},
		HoldStill: "hold.thorax-and-scapula",
		WatchFor:  []string{"watch.side-lean", "watch.shrug", "watch.drift-forward"},
	},
	rom.ERSide: {
		Ways: []Way{
			{Method: rom.Tilt, Position: rom.Supine, Setups: strapOn},
			{Method: rom.Photo, Position: rom.Supine, View: FromFeet, Landmarks: turnMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Supine, View: FromHead, Landmarks: turnMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Seated, View: FromAbove, Landmarks: turnMarks, Setups: byHelper},
			{Method: rom.Photo, Position: rom.Standing, View: FromAbove, Landmarks: turnMarks, Setups: byHelper},
		},
		Cannot:    []Cannot{{rom.Tilt, rom.Seated, ReasonVertical}, {rom.Tilt, rom.Standing, ReasonVertical}},
		HoldStill: "hold.elbow-at-side",
		WatchFor:  []string{"watch.elbow-leaves-side", "watch.trunk-turns", "watch.wrist-bends"},
	},
	rom.ER20: {
		Ways: []Way{
			{Method: rom.Tilt, Position: rom.Supine, Setups: strapOn},
			{Method: rom.Photo, Position: rom.Supine, View: FromFeet, Landmarks: turnMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Seated, View: FromAbove, Landmarks: turnMarks, Setups: byHelper},
		},
		Cannot:    []Cannot{{rom.Tilt, rom.Seated, ReasonVertical}, {rom.Tilt, rom.Standing, ReasonVertical}},
		HoldStill: "hold.elbow-on-roll",
		WatchFor:  []string{"watch.elbow-leaves-roll", "watch.trunk-turns", "watch.wrist-bends"},
	},
	rom.ER90: {
		Ways: []Way{
			{Method: rom.Tilt, Position: rom.Supine, Setups: strapOn},
			{Method: rom.Photo, Position: rom.Supine, View: FromSide, Landmarks: bedMarks, Setups: alone},
		},
		Cannot:    []Cannot{{rom.Tilt, rom.Seated, ReasonOtherZero}, {rom.Tilt, rom.Standing, ReasonOtherZero}},
		HoldStill: "hold.scapula-and-thorax",
		WatchFor:  []string{"watch.arched-back", "watch.abduction-drifts"},
	},
	rom.IRSide: {
		Ways: []Way{
			{Method: rom.Tilt, Position: rom.Supine, Setups: strapOn},
			{Method: rom.Photo, Position: rom.Supine, View: FromFeet, Landmarks: turnMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Seated, View: FromAbove, Landmarks: turnMarks, Setups: byHelper},
		},
		Cannot:    []Cannot{{rom.Tilt, rom.Seated, ReasonVertical}, {rom.Tilt, rom.Standing, ReasonVertical}},
		HoldStill: "hold.elbow-at-side",
		WatchFor:  []string{"watch.belly-stops-hand", "watch.trunk-turns"},
	},
	rom.IR90: {
		Ways: []Way{
			{Method: rom.Tilt, Position: rom.Supine, Setups: strapOn},
			{Method: rom.Photo, Position: rom.Supine, View: FromSide, Landmarks: bedMarks, Setups: alone},
		},
		Cannot: []Cannot{
			{rom.Tilt, rom.Seated, ReasonOtherZero}, {rom.Tilt, rom.Standing, ReasonOtherZero},
			{rom.Photo, rom.SideLying, ReasonBlocked},
		},
		HoldStill: "hold.scapula",
		WatchFor:  []string{"watch.front-of-shoulder-lifts"},
	},
	rom.Extension: {
		Ways: []Way{
			{Method: rom.Photo, Position: rom.Standing, View: FromSide, Landmarks: sideMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Prone, View: FromSide, Landmarks: sideMarks, Setups: alone},
			{Method: rom.Tilt, Position: rom.Standing, Trunk: true, Setups: strapOn},
			{Method: rom.Tilt, Position: rom.Prone, Trunk: true, Setups: strapOn},
		},
		Cannot:    []Cannot{{rom.Photo, rom.Supine, ReasonBlocked}, {rom.Tilt, rom.Supine, ReasonBlocked}},
		HoldStill: "hold.thorax",
		WatchFor:  []string{"watch.scapula-tips", "watch.trunk-turns"},
	},
	rom.CrossBody: {
		Ways: []Way{
			{Method: rom.Photo, Position: rom.Seated, View: FromAbove, Landmarks: crossMarks, Setups: byHelper},
			{Method: rom.Photo, Position: rom.Standing, View: FromAbove, Landmarks: crossMarks, Setups: byHelper},
			{Method: rom.Photo, Position: rom.Supine, View: FromHead, Landmarks: crossMarks, Setups: alone},
		},
		Cannot: []Cannot{
			{rom.Tilt, rom.Seated, ReasonVertical}, {rom.Tilt, rom.Standing, ReasonVertical},
			{rom.Tilt, rom.Supine, ReasonNotOffered},
		},
		HoldStill: "hold.scapula",
		WatchFor:  []string{"watch.trunk-turns"},
	},
	rom.HandBehindBack: {
		Ways: []Way{
			{Method: rom.LevelMethod, Position: rom.Standing, View: FromBehind, Landmarks: backMarks, Setups: alone},
		},
		Cannot: []Cannot{
			{rom.Tilt, rom.Standing, ReasonNoAngle}, {rom.Photo, rom.Standing, ReasonNoAngle},
		},
		WatchFor: []string{"watch.trunk-bends", "watch.elbow-flares"},
	},
	rom.ElbowFlexion: {
		Ways: []Way{
			{Method: rom.Photo, Position: rom.Standing, View: FromSide, Landmarks: elbowMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Seated, View: FromSide, Landmarks: elbowMarks, Setups: alone},
			{Method: rom.Tilt, Position: rom.Standing, Trunk: true, Setups: layOn},
			{Method: rom.Tilt, Position: rom.Seated, Trunk: true, Setups: layOn},
		},
		WatchFor: []string{"watch.upper-arm-moves"},
	},
	rom.ElbowExtension: {
		Ways: []Way{
			{Method: rom.Photo, Position: rom.Standing, View: FromSide, Landmarks: elbowMarks, Setups: alone},
			{Method: rom.Photo, Position: rom.Seated, View: FromSide, Landmarks: elbowMarks, Setups: alone},
			{Method: rom.Tilt, Position: rom.Standing, Trunk: true, Setups: layOn},
			{Method: rom.Tilt, Position: rom.Seated, Trunk: true, Setups: layOn},
		},
		WatchFor: []string{"watch.upper-arm-moves"},
	},
	rom.ForearmRotation: {
		Ways: []Way{
			{Method: rom.Tilt, Position: rom.Seated, Setups: inTheFist},
			{Method: rom.Photo, Position: rom.Seated, View: FromFront, Landmarks: fistMarks, Setups: alone},
		},
		WatchFor: []string{"watch.elbow-leaves-side"},
	},
}
