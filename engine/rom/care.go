package rom

// Clearance lets a phase of an episode begin, or takes that back.
type Clearance struct {
	Episode   EpisodeID `json:"episode"`
	Phase     string    `json:"phase"` // key of the phase in the plan
	On        Date      `json:"on"`
	Withdrawn bool      `json:"withdrawn,omitempty"`
	By        StaffID   `json:"by"`
	Reason    string    `json:"reason,omitempty"`
}

// Therapy is one supervised session at a practice.
type Therapy struct {
	Episode EpisodeID `json:"episode"`
	On      Date      `json:"on"`
	Outcome string    `json:"outcome"` // "attended", "missed", "cancelled"
	By      StaffID   `json:"by"`
}

// Visit is a consultation with its note.
type Visit struct {
	Episode EpisodeID `json:"episode"`
	On      Date      `json:"on"`
	Next    Date      `json:"next,omitempty"`
	Text    string    `json:"text,omitempty"`
	By      StaffID   `json:"by"`
}

// Note is a message of the clinic to the patient.
type Note struct {
	Episode EpisodeID `json:"episode"`
	Text    string    `json:"text"`
	By      StaffID   `json:"by"`
	Answers Ref       `json:"answers,omitzero"` // the question it answers
	Signed  Signature `json:"signed,omitzero"`
}

// TaskAct is what staff did about a finding.
type TaskAct string

// The acts. Done closes a finding; it may come back when its facts change.
const (
	TaskSeen    TaskAct = "seen"
	TaskAssign  TaskAct = "assign"
	TaskCall    TaskAct = "call"  // called and talked
	TaskTried   TaskAct = "tried" // called, nobody answered
	TaskSnooze  TaskAct = "snooze"
	TaskDone    TaskAct = "done"
	TaskReopen  TaskAct = "reopen"
	TaskComment TaskAct = "comment"
)

// Task is one act of staff upon one finding.
type Task struct {
	Episode EpisodeID `json:"episode"`
	Finding string    `json:"finding"` // the finding's key
	// State is the finding's fingerprint that the act answers, so that a
	// changed finding speaks up again.
	State string  `json:"state,omitempty"`
	Act   TaskAct `json:"act"`
	To    StaffID `json:"to,omitempty"`
	Until Date    `json:"until,omitempty"`
	Text  string  `json:"text,omitempty"`
	By    StaffID `json:"by"`
	On    Date    `json:"on"`
}

// Amend replaces the body of an earlier record.
type Amend struct {
	Target Ref    `json:"target"`
	V      int    `json:"v,omitempty"` // version of the new body's kind; 0 means 1
	Body   []byte `json:"body"`        // the new body as JSON text
	Reason string `json:"reason"`
}

// Void takes an earlier record back for ever.
type Void struct {
	Target Ref    `json:"target"`
	Reason string `json:"reason"`
}

// Validate checks the clearance.
func (c Clearance) Validate() error {
	switch {
	case c.Phase == "":
		return invalid("phase", "is missing")
	case c.By == "":
		return invalid("by", "must name who cleared it")
	case c.On.IsZero():
		return invalid("on", "must be a date")
	case c.Withdrawn && c.Reason == "":
		return invalid("reason", "must say why the clearance is withdrawn")
	}
	return text("reason", c.Reason, 500)
}

// Validate checks the entry.
func (t Therapy) Validate() error {
	switch t.Outcome {
	case "attended", "missed", "cancelled":
	default:
		return invalid("outcome", "must be attended, missed or cancelled")
	}
	if t.On.IsZero() || t.By == "" {
		return invalid("on", "and by must be given")
	}
	return nil
}

// Validate checks the entry.
func (v Visit) Validate() error {
	if v.On.IsZero() || v.By == "" {
		return invalid("on", "and by must be given")
	}
	return text("text", v.Text, 4000)
}

// Validate checks the text.
func (n Note) Validate() error {
	if n.Text == "" || n.By == "" {
		return invalid("text", "and by must be given")
	}
	return text("text", n.Text, 1000)
}

// Validate checks the act.
func (t Task) Validate() error {
	switch t.Act {
	case TaskSeen, TaskAssign, TaskCall, TaskTried, TaskSnooze, TaskDone, TaskReopen, TaskComment:
	default:
		return invalid("act", "is not an act upon a finding")
	}
	switch {
	case t.Finding == "" || t.By == "":
		return invalid("finding", "and by must be given")
	case t.Act == TaskSnooze && t.Until.IsZero():
		return invalid("until", "must be a date")
	}
	return text("text", t.Text, 1000)
}

// Validate checks that a target and a reason are given.
func (a Amend) Validate() error {
	if a.Target.Author == "" || a.Target.N < 1 {
		return invalid("target", "must name a record")
	}
	return text("reason", a.Reason, 500)
}

// Validate checks that a target is given.
func (v Void) Validate() error {
	if v.Target.Author == "" || v.Target.N < 1 {
		return invalid("target", "must name a record")
	}
	return text("reason", v.Reason, 500)
}
