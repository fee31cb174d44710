package scenario

import (
	"time"

	"unsling/engine/rom"
	"unsling/server/ledger"
)

// Zone is where the invented clinic stands.
const Zone = "Europe/Dublin"

// Clinic is the invented practice.
func Clinic() ledger.Clinic {
	c := ledger.Clinic{
		Name: "Harbour Hill Shoulder Practice (invented)", Phone: "+353 20 912 0101", AfterHours: "+353 20 912 0199",
		Zone: Zone, Deputy: Therapist, Demo: true, Settings: map[string]string{"emergency": "112"},
	}
	for d := time.Monday; d <= time.Friday; d++ {
		c.Hours = append(c.Hours, ledger.Hours{Day: d, From: 8 * 60, To: 17 * 60})
	}
	return c
}

// The invented staff.
const (
	Surgeon       rom.StaffID = "solberg"
	Therapist     rom.StaffID = "quill"
	Assistant     rom.StaffID = "marsh"
	Administrator rom.StaffID = "fenn"
	Spare         rom.StaffID = "spare"
)

// Person is one sign-in of the demo.
type Person struct {
	ID       rom.StaffID
	Login    string
	Name     string
	Role     ledger.Role
	Password string
}

// Staff lists the invented people who sign in. Their passwords are printed at
// start and are worth nothing outside the demo.
func Staff() []Person {
	return []Person{
		{Surgeon, "solberg", "Dr Imke Solberg", ledger.Surgeon, "harbour lights at nine"},
		{Therapist, "quill", "Ravi Quill", ledger.Therapist, "harbour lights at ten"},
		{Assistant, "marsh", "Dagny Marsh", ledger.Assistant, "harbour lights at noon"},
		{Administrator, "fenn", "Otto Fenn", ledger.Administrator, "harbour lights at dusk"},
		{Spare, "spare", "Dr Sam Spare (for scripts)", ledger.Surgeon, "harbour lights all night"},
	}
}

// habit is how a patient behaves.
type habit struct {
	does    float64 // share of due sessions that are done
	extra   float64 // chance of a session beyond those due, per day
	afraid  float64 // chance to skip an exercise for fear
	pain    int     // usual pain after
	silent  int     // days before today since which the phone is silent; 0 for none
	attends float64 // share of therapy attended
}

// person is one invented patient.
type person struct {
	name       string
	born       int
	side       rom.Side
	procedures []rom.Procedure
	day        int // days after surgery today; negative for planned
	phone      bool
	habit      habit
	arm        arm
	turns      []turn // what happens on which day after surgery
	spare      bool
	discharged bool
	late       bool // enrolled yesterday, long after the operation
}

// turn is an event of a story.
type turn struct {
	before int // this many days before today
	do     func(*story) error
}

var steady = habit{does: 0.86, pain: 2, attends: 0.92}

// patients is the cast. The days are counted back from today, so that the
// stories stay the same whenever the demo is made.
func patients() []person {
	cuff := []rom.Procedure{rom.CuffRepair}
	labrum := []rom.Procedure{rom.AnteriorLabralRepair}
	tenodesis := []rom.Procedure{rom.BicepsTenodesis}
	release := []rom.Procedure{rom.CapsularRelease}
	decompression := []rom.Procedure{rom.SubacromialDecompression}
	return []person{
		{name: "Alma Brandt", born: 1961, side: rom.Right, procedures: cuff, day: 100, phone: true, habit: steady, arm: onCourse},
		{name: "Bruno Castell", born: 1957, side: rom.Left, procedures: cuff, day: 96, phone: true, habit: steady, arm: stiffRotation},
		{name: "Celia Drum", born: 1999, side: rom.Right, procedures: labrum, day: 38, phone: true,
			habit: habit{does: 0.9, pain: 1, attends: 0.95}, arm: looseER, turns: []turn{{4, pastLimit}, {1, pastLimit}}},
		{name: "Dario Elm", born: 1968, side: rom.Right, procedures: cuff, day: 61, phone: true,
			habit: habit{does: 0.7, pain: 2, silent: 9, attends: 0.8}, arm: slow},
		{name: "Edda Falk", born: 1952, side: rom.Left, procedures: cuff, day: 9, phone: true, habit: steady, arm: onCourse,
			turns: []turn{{0, wound}}},
		{name: "Finn Garrow", born: 1978, side: rom.Right, procedures: tenodesis, day: 35, phone: true, habit: steady, arm: onCourse,
			turns: []turn{{6, narrowPlan}}},
		{name: "Greta Holm", born: 1963, side: rom.Left, procedures: cuff, day: -10},
		{name: "Hugo Ives", born: 1970, side: rom.Right, procedures: release, day: 12, phone: true,
			habit: habit{does: 0.55, pain: 4, attends: 0.7}, arm: losing},
		{name: "Iris Jansen", born: 1982, side: rom.Left, procedures: decompression, day: 24, phone: true, habit: steady, arm: quick},
		{name: "Jonas Kite", born: 2001, side: rom.Left, procedures: labrum, day: 75, phone: true, habit: steady, arm: onCourse},
		{name: "Klara Lund", born: 1966, side: rom.Right, procedures: cuff, day: 58, phone: true,
			habit: habit{does: 1, extra: 0.9, pain: 2, attends: 1}, arm: onCourse},
		{name: "Lars Mott", born: 1959, side: rom.Right, procedures: decompression, day: 45, phone: true,
			habit: habit{does: 0.5, afraid: 0.45, pain: 2, attends: 0.8}, arm: slow},
		{name: "Mina Noor", born: 1964, side: rom.Left, procedures: cuff, day: 186, phone: true, habit: steady, arm: onCourse},
		{name: "Nils Orr", born: 1955, side: rom.Right, procedures: cuff, day: -3, phone: true, habit: steady, arm: onCourse},
		{name: "Otis Parr", born: 1973, side: rom.Right, procedures: decompression, day: 120, phone: true, habit: steady, arm: quick, discharged: true},
		{name: "Pia Quist", born: 1969, side: rom.Left, procedures: append(cuff[:1:1], rom.BicepsTenodesis), day: 50, phone: true,
			habit: habit{does: 0.85, pain: 2, silent: 1, attends: 0.9}, arm: onCourse, turns: []turn{{0, stopPlan}}},
		{name: "Vera Wren", born: 1960, side: rom.Right, procedures: cuff, day: 50, arm: onCourse, late: true},
	}
}
