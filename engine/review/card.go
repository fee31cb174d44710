package review

import "slices"

// Card is what somebody needs for a call about one class of finding. It is
// common practice, no source; a clinic reviews it before use. An assistant
// reads it aloud and passes on; only those of Closes may close the finding.
type Card struct {
	Class     Class
	Title     string   // the class in words
	Opening   string   // how to begin
	Questions []string // asked in this order
	PassOn    []string // answers upon which the call is passed on, and to whom
	Closing   []string // acts that settle it
	Closes    []Role
}

var clinicians = []Role{Surgeon, Therapist}

// danger is asked in every call, first of all.
var danger = []string{
	"Have you chest pain, trouble breathing, or pale, cold or blue fingers?",
	"Have you fallen, or felt a pop, a sharp pain or sudden weakness?",
	"Have you fever, a wet or red wound, or a swollen arm or calf?",
}

var dangerPass = []string{
	"Chest pain, breathing, fingers: emergency number, now.",
	"Pop, sharp pain, weakness, fall, fever, wound, swelling: the surgeon on duty, today.",
}

var cards = []Card{
	{Class: LimitNear, Title: "an angle close to the limit", Opening: "Your last measurement looks close to your limit.",
		Questions: []string{"Did you measure as in the picture, lying or sitting still?", "Where do you stop: at first tightness, or when it hurts?"},
		PassOn:    []string{"Goes on past tightness: the therapist, today."},
		Closing:   []string{"A new reading within the limit.", "The aim was explained again."}, Closes: clinicians},
	{Class: LimitLikely, Title: "a limit that was perhaps passed", Opening: "Your arm may have gone further than your plan allows. Let us look at it together.",
		Questions: []string{"Which exercise was it, and who moved the arm?", "Did you measure as in the picture, lying or sitting still?", "Has it hurt since, or is the arm weaker?"},
		PassOn:    []string{"Pain, weakness or doubt: the surgeon, today.", "A therapist moved the arm: tell the surgeon who."},
		Closing:   []string{"Talked through; the stretch goes on below the limit.", "The aim was explained again.", "The reading was a mistake and was taken back."}, Closes: clinicians},
	{Class: LimitPassed, Title: "a limit that was passed", Opening: "Your arm went further than your plan allows. Please stop that stretch.",
		Questions: []string{"Which exercise was it, and who moved the arm?", "Has it hurt since, or is the arm weaker?", "Can you lift the phone and send a new picture, no further than your limit?"},
		PassOn:    []string{"Pain, weakness or doubt: the surgeon, today.", "A therapist moved the arm: tell the surgeon who."},
		Closing:   []string{"Talked through; the stretch goes on below the limit.", "The plan was narrowed, or the limit changed by the surgeon.", "The reading was a mistake and was taken back."}, Closes: clinicians},
	{Class: LimitBroken, Title: "a limit passed with an injury", Opening: "Stop all exercises and put the sling on.",
		Questions: []string{"What happened, and when?", "Can you still do what you could do yesterday?", "Where do you feel it?"},
		PassOn:    []string{"Always: the surgeon, at once."},
		Closing:   []string{"The surgeon examined the shoulder and wrote a plan."}, Closes: []Role{Surgeon}},
	{Class: PainRule, Title: "pain above what the phase accepts", Opening: "You told us that it hurt more than it should.",
		Questions: []string{"When does it hurt: during, after, at night, the next morning?", "Is it getting better or worse from day to day?", "Which exercise brings it on?", "What medicine do you take, and did something change?"},
		PassOn:    []string{"Getting worse, or not eased by medicine: the surgeon, today."},
		Closing:   []string{"The dose was lowered.", "Examined, and the plan stands."}, Closes: clinicians},
	{Class: WarningSign, Title: "a warning sign", Opening: "You reported a warning sign. I call about that.",
		Questions: []string{"How is it now?", "When did it begin?", "Have you called or seen anybody about it?"},
		PassOn:    []string{"Always: the clinician on duty."},
		Closing:   []string{"Seen by a clinician, outcome noted.", "The plan answers the report, so that exercises may go on."}, Closes: clinicians},
	{Class: Fall, Title: "a fall or forbidden use", Opening: "You told us about a fall, or that the arm was used.",
		Questions: []string{"How did you land, or what did you lift?", "Is the arm weaker or more painful than before?", "Has its shape changed?"},
		PassOn:    []string{"Always: the surgeon, today."},
		Closing:   []string{"Examined, outcome noted, plan answers it."}, Closes: []Role{Surgeon}},
	{Class: Stiffening, Title: "stiffness by a published definition", Opening: "Your shoulder is slower than planned. That happens often and mostly passes.",
		Questions: []string{"Do you reach all sessions? What gets in the way?", "Does the stiffness or the pain stop you?", "Does it wake you at night?", "Are you content with how it moves?"},
		PassOn:    []string{"Pain at night, fever, or sudden change: the surgeon, today."},
		Closing:   []string{"Seen by the surgeon; the plan stands or was changed.", "Before week 12 after a repair: noted, watched, not pushed."}, Closes: []Role{Surgeon, Therapist}},
	{Class: Losing, Title: "loss of a motion", Opening: "One movement goes less far than before.",
		Questions: []string{"Did something happen: a fall, an illness, a pause?", "Is the shoulder warm, red or more painful?", "Did you measure in another way than before?"},
		PassOn:    []string{"Fall, warmth, redness, fever: the surgeon, today."},
		Closing:   []string{"Measured at the clinic.", "Cause found, plan changed."}, Closes: clinicians},
	{Class: EarlyLoss, Title: "loss in the first weeks after a release", Opening: "Your shoulder moves less than right after the operation. We want to act soon.",
		Questions: []string{"How many sessions did you do yesterday and today?", "Is it pain that stops you? Is the medicine enough?", "When is your next therapy?"},
		PassOn:    []string{"Always: the surgeon, within two days."},
		Closing:   []string{"Seen; therapy or pain relief was raised."}, Closes: []Role{Surgeon}},
	{Class: RotationLag, Title: "rotation behind good elevation", Opening: "Your arm lifts well. Turning it outward is behind.",
		Questions: []string{"Do you do the turning exercise each time?", "Does the elbow stay at the side?"},
		PassOn:    []string{"Cannot do it for pain: the therapist."},
		Closing:   []string{"Rotation was stressed in the plan, within its limit.", "Before week 12 after a repair: noted, watched, not pushed."}, Closes: clinicians},
	{Class: TooMuchER, Title: "more external rotation than the other arm", Opening: "One turning movement goes further than we expected.",
		Questions: []string{"Is lifting the hand off the back or pressing on the belly weaker?", "Does the shoulder feel loose?", "Did something happen?"},
		PassOn:    []string{"Always: the surgeon."},
		Closing:   []string{"Examined by the surgeon."}, Closes: []Role{Surgeon}},
	{Class: RetearSign, Title: "active motion that falls while passive stays", Opening: "You lift the arm less far by itself than before.",
		Questions: []string{"Since when, and did something happen?", "Is it pain or weakness that stops it?"},
		PassOn:    []string{"Always: the surgeon."},
		Closing:   []string{"Examined by the surgeon, imaging decided."}, Closes: []Role{Surgeon}},
	{Class: TooMuch, Title: "more than was asked", Opening: "You do a lot. After a repair more is not better.",
		Questions: []string{"What made you do more?", "How is the shoulder in the evening?"},
		PassOn:    []string{"Pain or weakness: the therapist, today."},
		Closing:   []string{"Explained; the plan stands."}, Closes: clinicians},
	{Class: TooLittle, Title: "less than was asked", Opening: "How are you getting on with the exercises?",
		Questions: []string{"What gets in the way: pain, time, help, the phone?", "Did you exercise without the phone?"},
		PassOn:    []string{"Pain or fear: the therapist."},
		Closing:   []string{"The plan was made lighter, or help was found.", "Exercises without the phone were noted."}, Closes: []Role{Surgeon, Therapist, Assistant}},
	{Class: Afraid, Title: "fear of an exercise", Opening: "You left something out because it worried you. That is a good question to ask.",
		Questions: []string{"Which exercise, and what do you fear?", "Did it hurt before?"},
		PassOn:    []string{"Always: the therapist, who shows it."},
		Closing:   []string{"Shown at the clinic or by telephone.", "The exercise was changed."}, Closes: clinicians},
	{Class: Silent, Title: "no news", Opening: "We have no news from your phone and want to know how you are.",
		Questions: []string{"Is the phone with you, charged and online?", "Do you exercise? Does the app show your plan?", "Does the app say that something is unsent?"},
		PassOn:    []string{"The patient is unwell: the clinician on duty.", "The phone is lost: the administrator."},
		Closing:   []string{"The phone was in contact again.", "Reached; sessions without the phone were noted."}, Closes: []Role{Surgeon, Therapist, Assistant}},
	{Class: PlanNotThere, Title: "a stop or narrower plan that is not on the phone", Opening: "Your plan was changed and your phone does not know it yet. I tell you now.",
		Questions: []string{"Please repeat what changes for you.", "Can you open the app while online?"},
		PassOn:    []string{"Not reached by today: the clinician who changed the plan."},
		Closing:   []string{"The phone follows it.", "Told by telephone and repeated by the patient."}, Closes: []Role{Surgeon, Therapist, Assistant}},
	{Class: PlanOld, Title: "a plan that has not arrived", Opening: "Your phone has an older plan.",
		Questions: []string{"Can you open the app while online?"},
		Closing:   []string{"The phone follows it."}, Closes: []Role{Surgeon, Therapist, Assistant}},
	{Class: ClockWrong, Title: "a wrong clock", Opening: "The clock of your phone seems wrong.",
		Questions: []string{"Is date and time set by itself in the settings?"},
		Closing:   []string{"The clock is right at the next contact."}, Closes: []Role{Surgeon, Therapist, Assistant, Administrator}},
	{Class: Damaged, Title: "damaged data", Opening: "",
		Questions: []string{"Does the app on the phone show anything unusual?"},
		PassOn:    []string{"A reading or a sign may be missing: the therapist asks the patient."},
		Closing:   []string{"Looked at, cause noted."}, Closes: []Role{Administrator}},
	{Class: SideMismatch, Title: "the other shoulder was tapped", Opening: "Before anything starts: which shoulder was operated?",
		Questions: []string{"Which shoulder, left or right?", "Where is the wound?"},
		PassOn:    []string{"Always: the surgeon, with the operation note."},
		Closing:   []string{"Side confirmed by two people."}, Closes: []Role{Surgeon}},
	{Class: SignsUnread, Title: "messages that nobody opened", Opening: "",
		Closing: []string{"Opened, and answered where needed."}, Closes: []Role{Surgeon, Therapist, Assistant}},
	{Class: CallOverdue, Title: "a call that is overdue", Opening: "",
		PassOn:  []string{"Not reached twice: the deputy, who decides on another way."},
		Closing: []string{"The call was made, or the finding closed."}, Closes: []Role{Surgeon, Therapist, Assistant}},
	{Class: GateReview, Title: "a phase that waits for clearance", Opening: "",
		Closing: []string{"Cleared, or its day moved."}, Closes: []Role{Surgeon}},
}

// needsNoDanger are classes about which nobody calls the patient first.
var needsNoDanger = []Class{ClockWrong, Damaged, SignsUnread, CallOverdue, GateReview}

// CardFor returns the call card of a class. For a class that it does not know
// it returns the questions of danger and passes everything on.
func CardFor(c Class) Card {
	i := slices.IndexFunc(cards, func(k Card) bool { return k.Class == c })
	if i < 0 {
		return Card{Class: c, Title: string(c), Questions: danger, PassOn: dangerPass, Closes: clinicians}
	}
	out := cards[i]
	if !slices.Contains(needsNoDanger, c) {
		out.Questions = slices.Concat(danger, out.Questions)
		out.PassOn = slices.Concat(dangerPass, out.PassOn)
	}
	return out
}

// MayClose reports whether a role may close findings of the class. An
// assistant never closes a clinical one.
func (c Card) MayClose(r Role) bool { return slices.Contains(c.Closes, r) }

func title(c Class) string { return CardFor(c).Title }
