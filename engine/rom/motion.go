package rom

import (
	"strconv"
	"strings"
)

// Motion is one movement with its zero position, as the trade abbreviates it.
type Motion string

// The motions. Zero of elevation is the arm at the side; zero of external
// rotation is the hand straight ahead with the elbow at the side, bent 90.
const (
	ForwardFlexion  Motion = "FF"   // sagittal plane
	Scaption        Motion = "SCAP" // plane of the scapula, about 30 in front of the side
	Abduction       Motion = "ABD"  // frontal plane
	ERSide          Motion = "ER0"  // external rotation, elbow at the side
	ER20            Motion = "ER20" // external rotation at 20 of abduction
	ER90            Motion = "ER90" // external rotation at 90 of abduction
	IRSide          Motion = "IR0"  // internal rotation, elbow at the side
	IR90            Motion = "IR90" // internal rotation at 90 of abduction
	Extension       Motion = "EXT"
	CrossBody       Motion = "CBA" // cross-body (horizontal) adduction
	HandBehindBack  Motion = "HBB" // by vertebral level, not by angle
	ElbowFlexion    Motion = "EF"
	ElbowExtension  Motion = "EE" // 0 is straight, less than 0 short of straight
	ForearmRotation Motion = "FR" // palm up (supination) from thumb up
)

// Motions lists every motion in the order in which screens show them.
var Motions = []Motion{
	ForwardFlexion, Scaption, Abduction, ERSide, ER20, ER90, IRSide, IR90,
	Extension, CrossBody, HandBehindBack, ElbowFlexion, ElbowExtension, ForearmRotation,
}

// Valid reports whether m is one of Motions.
func (m Motion) Valid() bool { return m.anatomicalMax() != 0 }

// Rotation reports whether m is a rotation of the shoulder.
func (m Motion) Rotation() bool {
	switch m {
	case ERSide, ER20, ER90, IRSide, IR90:
		return true
	}
	return false
}

// Elevation reports whether m raises the arm.
func (m Motion) Elevation() bool {
	return m == ForwardFlexion || m == Scaption || m == Abduction
}

// ByLevel reports whether m is measured as a vertebral level.
func (m Motion) ByLevel() bool { return m == HandBehindBack }

// AnatomicalMax is the angle beyond which a reading or a limit of m is taken
// for a mistake. The values leave room above the largest published normal of
// NORKIN2016 Appendix A and VAIRO2012 Table 4 (flexion and abduction 188,
// extension 88, ER at 90 abduction 130); those of CBA, IR0, elbow and forearm
// are from memory.
func (m Motion) AnatomicalMax() Degrees { return Deg(m.anatomicalMax()) }

func (m Motion) anatomicalMax() int {
	switch m {
	case ForwardFlexion, Scaption, Abduction:
		return 200
	case ERSide, ER20:
		return 120
	case ER90:
		return 150
	case IRSide:
		return 120
	case IR90:
		return 130
	case Extension:
		return 100
	case CrossBody:
		return 150
	case HandBehindBack:
		return int(LevelSacrum)
	case ElbowFlexion, ElbowExtension:
		return 170
	case ForearmRotation:
		return 110
	}
	return 0
}

// Level is how high the thumb reaches behind the back, as a vertebral level:
// T1 to T12 are 1 to 12, L1 to L5 are 13 to 17, the sacrum is 18. Lower is
// better (HA2021). Zero means not measured; LevelButtock and LevelThigh are
// our own continuation below the sacrum for arms that do not reach it.
type Level int

// Levels with names; the rest follow the numbering above.
const (
	LevelT1      Level = 1
	LevelT7      Level = 7
	LevelT12     Level = 12
	LevelL1      Level = 13
	LevelL3      Level = 15
	LevelL5      Level = 17
	LevelSacrum  Level = 18
	LevelButtock Level = 19
	LevelThigh   Level = 20
)

// String returns "T7", "L3", "sacrum", "buttock" or "thigh"; "no level" for
// what is none.
func (l Level) String() string {
	switch {
	case l >= LevelT1 && l <= LevelT12:
		return "T" + strconv.Itoa(int(l))
	case l >= LevelL1 && l <= LevelL5:
		return "L" + strconv.Itoa(int(l-LevelT12))
	case l == LevelSacrum:
		return "sacrum"
	case l == LevelButtock:
		return "buttock"
	case l == LevelThigh:
		return "thigh"
	}
	return "no level"
}

// ParseLevel reads what String prints, in either case, and "S" or "S1" for the
// sacrum; ok is false for anything else.
func ParseLevel(s string) (l Level, ok bool) {
	s = strings.ToLower(strings.TrimSpace(s))
	if s == "s" || s == "s1" {
		return LevelSacrum, true
	}
	for l := LevelT1; l <= LevelThigh; l++ {
		if strings.ToLower(l.String()) == s {
			return l, true
		}
	}
	return 0, false
}

// Side is a side of the body.
type Side string

// The sides.
const (
	Left  Side = "left"
	Right Side = "right"
)

// Valid reports whether s is a side.
func (s Side) Valid() bool { return s == Left || s == Right }

// Other returns the opposite side.
func (s Side) Other() Side {
	if s == Left {
		return Right
	}
	return Left
}

// Class says who does the work of a movement; a higher class loads the repair
// more and includes the lower ones.
type Class int

// The classes in rising order of load. Locked is the zero value.
const (
	Locked Class = iota
	Passive
	ActiveAssisted
	Active
	Resisted
)

var classNames = [...]string{"locked", "passive", "active-assisted", "active", "resisted"}

// String returns the trade's term.
func (c Class) String() string {
	if c < 0 || int(c) >= len(classNames) {
		return "unknown"
	}
	return classNames[c]
}

// MarshalText implements encoding.TextMarshaler.
func (c Class) MarshalText() ([]byte, error) {
	if c < 0 || int(c) >= len(classNames) {
		return nil, invalid("class", "is not one of the five classes")
	}
	return []byte(classNames[c]), nil
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (c *Class) UnmarshalText(b []byte) error {
	for i, n := range classNames {
		if n == string(b) {
			*c = Class(i)
			return nil
		}
	}
	return invalid("class", "is not one of the five classes")
}
