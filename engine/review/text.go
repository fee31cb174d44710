package review

import (
	"fmt"
	"strings"

	"unsling/engine/rom"
)

// motionNames are the trade's terms for staff.
var motionNames = map[rom.Motion]string{
	rom.ForwardFlexion:  "forward flexion",
	rom.Scaption:        "scaption",
	rom.Abduction:       "abduction",
	rom.ERSide:          "external rotation at the side",
	rom.ER20:            "external rotation at 20 of abduction",
	rom.ER90:            "external rotation at 90 of abduction",
	rom.IRSide:          "internal rotation at the side",
	rom.IR90:            "internal rotation at 90 of abduction",
	rom.Extension:       "extension",
	rom.CrossBody:       "cross-body adduction",
	rom.HandBehindBack:  "hand behind back",
	rom.ElbowFlexion:    "elbow flexion",
	rom.ElbowExtension:  "elbow extension",
	rom.ForearmRotation: "forearm rotation",
}

var signNames = map[rom.SignID]string{
	rom.SignChest:      "chest pain or breathlessness",
	rom.SignPaleHand:   "pale, cold or blue fingers",
	rom.SignDrowsy:     "too sleepy on strong medicine",
	rom.SignStroke:     "face droop, arm or speech trouble",
	rom.SignAllergy:    "swelling of the face or throat",
	rom.SignFever:      "fever",
	rom.SignWound:      "a change of the wound",
	rom.SignCalf:       "swelling or pain of calf, arm or hand",
	rom.SignRisingPain: "rising pain",
	rom.SignNumb:       "numbness or weakness",
	rom.SignPop:        "a pop, sharp pain or sudden weakness",
	rom.SignFall:       "a fall or forbidden use of the arm",
	rom.SignHand:       "a swollen, stiff or discoloured hand",
	rom.SignStiff:      "sudden stiffening",
	rom.SignBulge:      "a new shape of the arm",
	rom.SignOther:      "something else",
}

func motion(m rom.Motion) string {
	if s := motionNames[m]; s != "" {
		return s
	}
	return "an unknown motion"
}

// first makes the first letter a capital.
func first(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func deg(d rom.Degrees) string { return fmt.Sprintf("%d°", d.Whole()) }

// value prints an angle, or tenths of a level for hand behind back.
func value(m rom.Motion, d rom.Degrees) string {
	if m.ByLevel() {
		return rom.Level(d.Whole()).String()
	}
	return deg(d)
}

func date(d rom.Date) string { return d.Time().Format("2 Jan 2006") }

func num(name string, v any) Number { return Number{Name: name, Value: fmt.Sprint(v)} }

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
