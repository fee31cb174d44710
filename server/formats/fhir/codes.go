package fhir

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"unsling/engine/rom"
)

// The code systems of others.
const (
	LOINC  = "http://loinc.org"
	UCUM   = "http://unitsofmeasure.org"
	SNOMED = "http://snomed.info/sct"

	categorySystem = "http://terminology.hl7.org/CodeSystem/observation-category"
	agentSystem    = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"
	languageSystem = "urn:ietf:bcp:47"
)

// PainCode is the 0 to 10 verbal numeric rating of pain.
const PainCode = "72514-3"

// loinc are the codes of a range of motion, active and passive. They say
// nothing of the position of the arm, and internal rotation by level has none.
// Read in a public guide's decision record of May 2026; check digits verified
// (see the test); each to be looked up at loinc.org before a release.
var loinc = map[rom.Motion][2]string{
	rom.ForwardFlexion: {"41389-8", "41390-6"}, rom.Abduction: {"41381-5", "41382-3"},
	rom.ERSide: {"41387-2", "41388-0"}, rom.ER20: {"41387-2", "41388-0"}, rom.ER90: {"41387-2", "41388-0"},
	rom.IRSide: {"41391-4", "41392-2"}, rom.IR90: {"41391-4", "41392-2"}, rom.Extension: {"41385-6", "41386-4"},
}

// motionTexts name a motion with its zero position.
var motionTexts = map[rom.Motion]string{
	rom.ForwardFlexion: "Forward flexion", rom.Scaption: "Elevation in the plane of the scapula", rom.Abduction: "Abduction",
	rom.ERSide: "External rotation, elbow at the side", rom.ER20: "External rotation at 20 degrees of abduction", rom.ER90: "External rotation at 90 degrees of abduction",
	rom.IRSide: "Internal rotation, elbow at the side", rom.IR90: "Internal rotation at 90 degrees of abduction", rom.Extension: "Extension",
	rom.CrossBody: "Cross-body adduction", rom.HandBehindBack: "Hand behind back, vertebral level of the thumb", rom.ElbowFlexion: "Elbow flexion",
	rom.ElbowExtension: "Elbow extension", rom.ForearmRotation: "Forearm rotation, palm up",
}

// codes are the code systems of one clinic.
type codes struct{ base string }

func (c codes) system(name string) string { return c.base + "/CodeSystem/" + name }

// own is a concept of our own code systems.
func (c codes) own(system, code, text string) *Concept {
	return &Concept{Coding: []Coding{{System: c.system(system), Code: code}}, Text: text}
}

// motion is the code of a reading. LOINC's comes first; it is left out for
// what it does not mean: active-assisted motion and motion of the
// glenohumeral joint alone.
func (c codes) motion(r rom.Reading) Concept {
	out := Concept{Text: motionTexts[r.Motion] + ", " + r.Class.String()}
	if codes, ok := loinc[r.Motion]; ok && !r.Glenohumeral {
		switch r.Class {
		case rom.Active:
			out.Coding = append(out.Coding, Coding{System: LOINC, Code: codes[0]})
		case rom.Passive:
			out.Coding = append(out.Coding, Coding{System: LOINC, Code: codes[1]})
		}
	}
	code := string(r.Motion) + "-" + r.Class.String()
	if r.Glenohumeral {
		code += "-glenohumeral"
		out.Text += ", glenohumeral"
	}
	out.Coding = append(out.Coding, Coding{System: c.system("motion"), Code: code})
	return out
}

// shoulder is the side in SNOMED CT: right is read, left from memory.
func shoulder(s rom.Side) *Concept {
	code := "91774008"
	if s == rom.Left {
		code = "91775009"
	}
	return &Concept{Coding: []Coding{{System: SNOMED, Code: code}}, Text: string(s) + " shoulder"}
}

// sideOf reads what shoulder writes, and plain words.
func sideOf(list []Concept) rom.Side {
	for _, c := range list {
		for _, k := range c.Coding {
			switch {
			case k.System == SNOMED && k.Code == "91774008":
				return rom.Right
			case k.System == SNOMED && k.Code == "91775009":
				return rom.Left
			}
		}
		for _, text := range []string{c.Text, displayOf(c)} {
			low := strings.ToLower(text)
			right, left := strings.Contains(low, "right"), strings.Contains(low, "left")
			switch {
			case right && !left:
				return rom.Right
			case left && !right:
				return rom.Left
			}
		}
	}
	return ""
}

func displayOf(c Concept) string {
	for _, k := range c.Coding {
		if k.Display != "" {
			return k.Display
		}
	}
	return ""
}

func degrees(d rom.Degrees) *Quantity {
	return &Quantity{Value: d.Whole(), Unit: "degrees", System: UCUM, Code: "deg"}
}

func score(n int) *Quantity { return &Quantity{Value: n, Unit: "score", System: UCUM, Code: "{score}"} }

// ID is an id as FHIR allows it: letters, digits, - and . up to 64 of them.
// The store's ids are base64url, whose underscore becomes a full stop; what
// cannot be written so is hashed.
func ID(s string) string {
	out := strings.ReplaceAll(s, "_", ".")
	ok := len(out) > 0 && len(out) <= 64 && !strings.Contains(s, ".")
	for _, c := range out {
		ok = ok && (c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '.')
	}
	if !ok {
		sum := sha256.Sum256([]byte(s))
		return "x." + hex.EncodeToString(sum[:16])
	}
	return out
}

// PatientOf is the patient's id in the store, from an id of FHIR.
func PatientOf(id string) rom.PatientID { return rom.PatientID(strings.ReplaceAll(id, ".", "_")) }

// partLetters are the letters that part adds to a patient's id.
const partLetters = 21

// part is the id of something of a patient: the patient's id, and a hash of
// what it is, so that the patient of a resource is known from its id.
func part(p rom.PatientID, what string) string {
	sum := sha256.Sum256([]byte(what))
	return ID(string(p)) + "-" + hex.EncodeToString(sum[:10])
}

// OwnerOf is the patient whose resource has this id; ok is false for an id
// that no part of a patient has.
func OwnerOf(id string) (rom.PatientID, bool) {
	if len(id) <= partLetters || id[len(id)-partLetters] != '-' {
		return "", false
	}
	return PatientOf(id[:len(id)-partLetters]), true
}
