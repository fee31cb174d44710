package clinic

import (
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

// Staff pages use the trade's terms. Every code of the engine has its words
// here, once.

var motionNames = map[rom.Motion]string{
	rom.ForwardFlexion: "Forward flexion", rom.Scaption: "Scaption", rom.Abduction: "Abduction",
	rom.ERSide: "External rotation at the side", rom.ER20: "External rotation at 20° abduction",
	rom.ER90: "External rotation at 90° abduction", rom.IRSide: "Internal rotation at the side",
	rom.IR90: "Internal rotation at 90° abduction", rom.Extension: "Extension",
	rom.CrossBody: "Cross-body adduction", rom.HandBehindBack: "Hand behind back",
	rom.ElbowFlexion: "Elbow flexion", rom.ElbowExtension: "Elbow extension", rom.ForearmRotation: "Forearm rotation",
}

var motionShort = map[rom.Motion]string{
	rom.ForwardFlexion: "Flexion", rom.Scaption: "Scaption", rom.Abduction: "Abduction",
	rom.ERSide: "ER at side", rom.ER20: "ER at 20°", rom.ER90: "ER at 90°", rom.IRSide: "IR at side",
	rom.IR90: "IR at 90°", rom.Extension: "Extension", rom.CrossBody: "Cross-body",
	rom.HandBehindBack: "Hand behind back", rom.ElbowFlexion: "Elbow flexion",
	rom.ElbowExtension: "Elbow extension", rom.ForearmRotation: "Forearm rotation",
}

var procedureNames = map[rom.Procedure]string{
	rom.CuffRepair: "Rotator cuff repair, small or medium tear", rom.CuffRepairLarge: "Rotator cuff repair, large or massive tear",
	rom.SubscapularisRepair: "Subscapularis repair", rom.AnteriorLabralRepair: "Anterior labral repair",
	rom.PosteriorLabralRepair: "Posterior labral repair", rom.SLAPRepair: "SLAP repair",
	rom.BicepsTenodesis: "Biceps tenodesis", rom.CapsularRelease: "Capsular release or manipulation",
	rom.SubacromialDecompression: "Subacromial decompression",
}

var exerciseNames = map[rom.ExerciseID]string{
	rom.TableSlideFlexion: "Table slide, flexion", rom.TableSlideAbduction: "Table slide, abduction",
	rom.SupineElevation: "Supine elevation, lifted by the other arm", rom.Pendulum: "Pendulum",
	rom.StickER: "External rotation with a stick", rom.DoorwayER: "External rotation in a doorway",
	rom.WallClimbFlexion: "Wall climb, flexion", rom.WallClimbAbduction: "Wall climb, abduction",
	rom.TowelBehindBack: "Towel behind back", rom.SideLyingIR: "Side-lying internal rotation",
	rom.CrossBodyStretch: "Cross-body stretch", rom.ElbowBend: "Elbow bend", rom.ForearmTurn: "Forearm turn",
	rom.WristHand: "Wrist and hand", rom.ScapularSetting: "Scapular setting",
	rom.ActiveElevation: "Active elevation", rom.IsometricRotation: "Isometric rotation", rom.BandRotation: "Rotation against a band",
}

var signNames = map[rom.SignID]string{
	rom.SignChest: "Chest pain or breathless", rom.SignPaleHand: "Pale, cold or blue fingers", rom.SignDrowsy: "Too sleepy",
	rom.SignStroke: "Face, arm or speech trouble", rom.SignAllergy: "Swelling of face or throat", rom.SignFever: "Fever",
	rom.SignWound: "Wound: redness, warmth, pus or wet", rom.SignCalf: "Calf or arm swelling", rom.SignRisingPain: "Pain rising",
	rom.SignNumb: "Numb or weak hand", rom.SignPop: "Pop, or sudden weakness", rom.SignFall: "Fall, or arm used without leave",
	rom.SignHand: "Hand swollen, stiff or changed in colour", rom.SignStiff: "Sudden stiffening", rom.SignBulge: "New shape of the arm",
	rom.SignOther: "Something else",
}

var slingNames = map[rom.Sling]string{
	rom.SlingAlways: "day and night", rom.SlingDay: "by day", rom.SlingOutdoor: "away from home and in bed",
	rom.SlingComfort: "as needed", rom.SlingOff: "off",
}

var stateNames = map[rom.EpisodeState]string{
	rom.Planned: "planned", rom.Confirmed: "confirmed", rom.Ongoing: "active", rom.Discharged: "discharged", rom.Withdrawn: "withdrawn",
}

var dayNames = map[schedule.State]string{
	schedule.CannotSay: "cannot say", schedule.BeforeOp: "before surgery", schedule.NotConfirmed: "operation not confirmed",
	schedule.Postponed: "postponed", schedule.NoPlan: "no plan", schedule.Running: "running", schedule.Paused: "paused",
	schedule.Stopped: "stopped by the clinic", schedule.Halted: "stopped by the patient's report", schedule.Ended: "ended",
}

var lockNames = map[schedule.Reason]string{
	schedule.WhyNotYet: "a later phase opens it", schedule.WhyClass: "no phase permits its class", schedule.WhyMotion: "no phase permits its motion",
	schedule.WhyProcedure: "locked after this operation", schedule.WhyClosed: "closed by the clinic", schedule.WhyPaused: "the plan is paused",
	schedule.WhyStopped: "the plan is stopped", schedule.WhyHalted: "stopped by the patient's report", schedule.WhyNotConfirmed: "the operation is not confirmed",
	schedule.WhyPostponed: "the operation is postponed", schedule.WhyNoPlan: "there is no plan", schedule.WhyEnded: "the episode has ended",
	schedule.WhyUnknownExercise: "not in the catalogue",
}

var endingNames = map[rom.Ending]string{
	rom.Finished: "finished", rom.StoppedByMe: "stopped", rom.Interrupted: "interrupted", rom.ByClinic: "stopped by the clinic",
}

var stopNames = map[rom.StopReason]string{
	rom.StopPain: "too much pain", rom.StopWrong: "something was wrong", rom.StopTired: "tired", rom.StopNoTime: "no time", rom.StopOther: "another reason",
}

var conflictNames = map[protocol.ConflictKind]string{
	protocol.PastClass: "a higher class", protocol.PastCeiling: "a higher ceiling", protocol.PastGate: "no clearance", protocol.PastSling: "less of the sling",
	protocol.PastLock: "an exercise", protocol.PastPain: "more pain", protocol.PastForbidden: "a forbidden combination", protocol.PastMeasuring: "more measuring",
	protocol.PastChance: "a limit that counts as passed later",
}

// changeText is one difference between two revisions in one line.
func changeText(d rom.Difference) string {
	s := string(d.What)
	switch {
	case d.Motion != "":
		s = name(motionNames, d.Motion)
	case d.Exercise != "":
		s = name(exerciseNames, d.Exercise)
		if d.What != rom.AspectDose {
			s = string(d.What) + ", " + s
		}
	}
	if d.Phase != "" {
		s = d.Phase + ", " + s
	}
	from, to := d.From, d.To
	switch d.What {
	case rom.AspectSling:
		from, to = name(slingNames, rom.Sling(from)), name(slingNames, rom.Sling(to))
	case rom.AspectDay:
		from, to = "day "+from, "day "+to
	}
	from, to = aspectText(d.What, from), aspectText(d.What, to)
	if from == "" {
		from = "none"
	}
	if to == "" {
		to = "none"
	}
	return s + ": " + from + " → " + to
}

var roleNames = map[ledger.Role]string{
	ledger.Surgeon: "Surgeon", ledger.Therapist: "Therapist", ledger.Assistant: "Assistant", ledger.Administrator: "Administrator",
}

// name returns the words for a code, or the code itself where a newer
// program wrote one that this one does not know.
func name[K ~string](m map[K]string, k K) string {
	if s, ok := m[k]; ok {
		return s
	}
	return string(k)
}

// levelName prints a vertebral level.
func levelName(l rom.Level) string {
	if l == 0 {
		return "not measured"
	}
	return l.String()
}

func day(d rom.Date) string {
	if d.IsZero() {
		return "—"
	}
	return d.Time().Format("Mon 2 Jan 2006")
}

func ago(n int) string {
	switch {
	case n < 0:
		return "never"
	case n == 0:
		return "today"
	case n == 1:
		return "yesterday"
	}
	return fmt.Sprintf("%d days ago", n)
}

func procedures(list []rom.Procedure) string {
	var out []string
	for i, p := range list {
		s := name(procedureNames, p)
		if i > 0 {
			s = strings.ToLower(s[:1]) + s[1:]
		}
		out = append(out, s)
	}
	return strings.Join(out, " with ")
}

func limitText(l rom.Limit) string {
	switch {
	case l.Class == rom.Locked:
		return "locked"
	case l.Open:
		return "no ceiling"
	case l.Motion.ByLevel():
		return "to " + levelName(l.Highest)
	}
	return "to " + l.Ceiling.String() + "°"
}

func weekdays(days []time.Weekday) string {
	if len(days) == 0 {
		return "none"
	}
	var out []string
	for _, d := range days {
		out = append(out, d.String()[:3])
	}
	return strings.Join(out, ", ")
}

func clockTime(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// helpers are the functions of the pages.
var helpers = template.FuncMap{
	"motion":      func(m rom.Motion) string { return name(motionNames, m) },
	"motionshort": func(m rom.Motion) string { return name(motionShort, m) },
	"procedures":  procedures,
	"procedure":   func(p rom.Procedure) string { return name(procedureNames, p) },
	"exercise":    func(e rom.ExerciseID) string { return name(exerciseNames, e) },
	"sign":        func(s rom.SignID) string { return name(signNames, s) },
	"sling":       func(s rom.Sling) string { return name(slingNames, s) },
	"state":       func(s rom.EpisodeState) string { return name(stateNames, s) },
	"role":        func(r ledger.Role) string { return name(roleNames, r) },
	"day":         day,
	"ago":         ago,
	"limit":       limitText,
	"level":       levelName,
	"weekdays":    weekdays,
	"clock":       clockTime,
	"bytes":       func(n any) string { return size(n) },
	"instant":     func(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04") },
	"upper":       func(s any) string { return strings.ToUpper(fmt.Sprint(s)) },
	"svg":         func(s string) template.HTML { return template.HTML(s) }, // from app/chart and app/figure only
	"add":         func(a, b int) int { return a + b },
	"args":        func(a ...any) []any { return a },
	"list2":       func(a, b string) []string { return []string{a, b} },
	"list3":       func(a, b, c string) []string { return []string{a, b, c} },
	"sitehost":    siteHost,
	"question":    func(key string) string { return name(questionNames, key) },
	"has":         hasString,
	"reason":      func(r schedule.Reason) string { return name(lockNames, r) },
	"daystate":    func(s schedule.State) string { return name(dayNames, s) },
	"short":       func(d rom.Date) string { return d.Time().Format("2 Jan 2006") },
	"ended":       func(e rom.Ending) string { return name(endingNames, e) },
	"stopped":     func(r rom.StopReason) string { return name(stopNames, r) },
	"change":      changeText,
	"rxkey":       rxKey,
	"words":       func(key any) string { return strings.ReplaceAll(fmt.Sprint(key), "-", " ") },
	"colleagues":  colleagues,
	"conflict":    func(k protocol.ConflictKind) string { return name(conflictNames, k) },
	"plural":      plural,
	"int":         func(n int64) int { return int(n) },
	"css":         func(s string) template.CSS { return template.CSS(s) }, // our own style sheet only
	"skipped":     skipped,
	"istrue":      func(b *bool) bool { return b != nil && *b },
	"pain": func(n int) string {
		if n < 0 {
			return "–"
		}
		return fmt.Sprint(n)
	},
	"kindname": func(k wire.Kind) string { return name(kindNames, k) },
	"score": func(p *int) string {
		if p == nil {
			return ""
		}
		return fmt.Sprint(*p)
	},
	"rest": func(all, to int) int { return min(pageRows, all-to) },
}

// hasString reports whether the printed x is among the printed list; it
// serves check boxes.
func hasString(list any, x any) bool {
	want := fmt.Sprint(x)
	switch l := list.(type) {
	case []time.Weekday:
		for _, d := range l {
			if fmt.Sprint(int(d)) == want {
				return true
			}
		}
	case []rom.ExerciseID:
		return slices.Contains(l, rom.ExerciseID(want))
	case []rom.Motion:
		return slices.Contains(l, rom.Motion(want))
	case []rom.Procedure:
		return slices.Contains(l, rom.Procedure(want))
	case []string:
		return slices.Contains(l, want)
	}
	return false
}

var questionNames = map[string]string{
	"remplissage": "Was a remplissage done?",
}

// siteHost is the address to type: without scheme and fragment.
func siteHost(link string) string {
	_, rest, _ := strings.Cut(link, "://")
	host, _, _ := strings.Cut(rest, "#")
	return host
}

// colleagues is the care team of a page that shows findings.
func colleagues(page any) []ledger.Staff {
	switch p := page.(type) {
	case patientPage:
		return p.Colleagues
	case findingPage:
		return p.Team
	}
	return nil
}
