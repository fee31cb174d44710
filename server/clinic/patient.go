package clinic

import (
	"fmt"
	"net/http"
	"slices"
	"time"

	"unsling/app/chart"
	"unsling/engine/dose"
	"unsling/engine/protocol"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/trend"
	"unsling/server/ledger"
)

// timelineMost is how many records the patient's page lists; all of them have
// a page of their own.
const timelineMost = 300

// doseDays is how many days of sessions the patient's page shows.
const doseDays = 42

type patientPage struct {
	File       file
	Care       care
	HasCare    bool
	Contact    int // days since last contact
	Names      map[rom.StaffID]string
	Open       []findingView
	Quiet      []findingView
	Colleagues []ledger.Staff // the care team, to assign to
	Next       *nextStep
	Cleared    string // who cleared the phase in force, and when
	Glance     []glanceRow
	Tiles      []tile
	Charts     []motionChart
	Dose       picture
	Pain       picture
	Adhere     dose.Adherence
	AdhereSays string
	Pains      []painDay // outside sessions, the newest first
	PainRules  []painRule
	Attend     []protocol.SignRule // to ask about most on this day
	Held       int                 // lines kept aside
	Records    int
	Paper      bool // a paper log was written down
	Pattern    picture
	Agree      []picture
	Sessions   []rom.Entry[rom.Session]
	Stiff      []trend.Verdict
	Messages   []message
	Unread     int
	Phones     []phoneView
	OnPhone    onPhone
	Locked     []schedule.Allowed
	Team       []string
	Outside    string // the deputy, if not in the care team
	Timeline   []moment
	Visit      rom.Date // the next one that is known
	Base       string   // address of this patient
}

// picture is a chart with its table twin.
type picture struct {
	Key, Title string
	SVG, Small string // for wide and for narrow columns
	Table      [][]string
	Says       string // one sentence under the title
}

// findingView is a finding with what may be done about it.
type findingView struct {
	review.Finding
	Short    string // headline
	Card     review.Card
	OwnerNow string
	DueText  string
	Reach    string // to whom it has gone, "" while the owner has it
	CanClose bool
	Acts     []string
}

// patientPage answers: how is it going, may I let them go on, what shall I
// change.
func (d *Desk) patientPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	return v.patientShow(http.StatusOK, f, v.episodeOf(), "")
}

func (v *visit) patientShow(status int, f file, want rom.EpisodeID, problem string) error {
	p, err := v.patientView(f, want)
	if err != nil {
		return err
	}
	if want != "" && !p.HasCare {
		return errNotFound
	}
	return v.showWith(status, "patient", frame{Title: v.patient.Name, Error: problem, Page: p})
}

func (v *visit) patientView(f file, want rom.EpisodeID) (patientPage, error) {
	names, err := v.staffNames()
	if err != nil {
		return patientPage{}, err
	}
	p := patientPage{File: f, Names: names, Contact: -1, Base: "/clinic/patients/" + string(v.patient.ID)}
	if p.Colleagues, err = v.teamRows(); err != nil {
		return patientPage{}, err
	}
	if !f.Contact.IsZero() {
		p.Contact = v.today.Sub(f.Contact)
	}
	if out, err := v.deputyOutside(v.patient.ID); err != nil {
		return patientPage{}, err
	} else if out {
		p.Outside = names[v.clinic.Deputy]
	}
	for _, m := range v.team {
		if n := names[m.Staff]; n != "" {
			p.Team = append(p.Team, n)
		}
	}
	p.Phones = v.phoneViews(f)
	p.Care, p.HasCare = f.Current(want)
	if !p.HasCare {
		return p, nil
	}
	c := p.Care
	for _, x := range c.Findings {
		fv := v.findingView(x, names)
		if x.Quiet {
			p.Quiet = append(p.Quiet, fv)
		} else {
			p.Open = append(p.Open, fv)
		}
	}
	if course, ok := trend.At(f.History, c.Episode.ID, v.today, trend.Options{}); ok {
		v.measured(&p, f, c, course)
	}
	p.Cleared = clearedBy(f.History, c, names)
	for _, e := range f.History.Visits {
		if d := e.Body.Next; e.Body.Episode == c.Episode.ID && d >= v.today && (p.Visit.IsZero() || d < p.Visit) {
			p.Visit = d
		}
	}
	for _, e := range f.History.Sessions {
		if e.Body.Episode == c.Episode.ID {
			p.Sessions = append(p.Sessions, e)
		}
	}
	slices.Reverse(p.Sessions)
	p.Sessions = p.Sessions[:min(len(p.Sessions), 12)]
	for _, x := range c.Day.Exercises {
		if x.Locked {
			p.Locked = append(p.Locked, x)
		}
	}
	p.OnPhone = v.onPhone(f, c)
	p.Attend = attend(c.Day)
	p.Paper = paper(f.History, c.Episode.ID)
	if c.Day.InPhase {
		p.PainRules = painRules(c.Day.PainCap)
	}
	held, sealed, err := v.heldCounts(f)
	if err != nil {
		return patientPage{}, err
	}
	p.Held = held + sealed
	p.Messages = v.messages(f.History, c.Episode.ID, names)
	for _, m := range p.Messages {
		if m.FromPatient && m.ReadBy == "" {
			p.Unread++
		}
	}
	p.Timeline = v.timeline(f.History, names)
	p.Records = len(p.Timeline)
	p.Timeline = p.Timeline[:min(len(p.Timeline), timelineMost)]
	return p, nil
}

// measured fills in everything that rests on readings and sessions.
func (v *visit) measured(p *patientPage, f file, c care, course *trend.Course) {
	p.Next = nextStepOf(c, course)
	if p.Next != nil && p.Next.Waits != schedule.ForDate {
		p.Next.Shows = v.previewCleared(f, c, p.Next.Phase.Key, max(v.today, p.Next.Earliest))
	}
	p.Glance = v.glance(f, c, course)
	p.Tiles = tilesOf(p.Glance)
	var days []schedule.Day
	if c.HasPlan && !c.Episode.Surgery.IsZero() && c.Episode.Surgery <= v.today && v.today.Sub(c.Episode.Surgery) < 800 {
		days = schedule.Range(f.History, c.Episode.ID, c.Episode.Surgery, v.today, schedule.With{LastContact: f.Contact})
	}
	p.Charts = v.motionCharts(f, c, course, days)
	p.Pattern = patternPicture(course)
	p.Agree = append(agreePictures(course, v.today), v.gainPictures(f, c)...)
	if len(days) == 0 {
		return
	}
	p.Stiff = course.Stiffness()
	from := max(c.Episode.Surgery, v.today.Add(1-doseDays))
	days42 := doses(f, c, from, v.today)
	p.Adhere, p.AdhereSays = adherence(days42, c.Day)
	p.Pains = painDays(f.History, c.Episode.ID, from, v.today)
	pic := doseChart(days42, c.Episode.Surgery, v.today)
	p.Dose = picture{Key: "dose", Title: "Time held at end range, by day", SVG: pic.SVG(), Table: pic.Table()}
	pic.Size = chart.Narrow
	p.Dose.Small = pic.SVG()
	pain := painChart(f.History, c, from, v.today)
	p.Pain = picture{Key: "pain", Title: "Pain before and after sessions", SVG: pain.SVG(), Table: pain.Table()}
	pain.Size = chart.Narrow
	p.Pain.Small = pain.SVG()
}

// clearedBy says who let the phase in force begin.
func clearedBy(h rom.History, c care, names map[rom.StaffID]string) string {
	if !c.Day.InPhase || !c.Day.Phase.Gate.Clearance {
		return ""
	}
	if w := c.Day.Phase.Gate.Waived; w != "" {
		return "waived by " + names[w]
	}
	for i := len(h.Clearances) - 1; i >= 0; i-- {
		if b := h.Clearances[i].Body; b.Episode == c.Episode.ID && b.Phase == c.Day.Phase.Key && !b.Withdrawn {
			return "cleared by " + names[b.By] + ", " + day(b.On)
		}
	}
	return ""
}

func (v *visit) findingView(x review.Finding, names map[rom.StaffID]string) findingView {
	fv := findingView{Finding: x, Short: headline(x), Card: review.CardFor(x.Class), OwnerNow: name(roleNames, ledger.Role(x.Owner))}
	if n := names[x.Assigned]; n != "" {
		fv.OwnerNow = n
	}
	fv.DueText = dueText(x, v.today)
	if r, late := v.reach(x); r > review.ToOwner {
		fv.Reach = reachText(r, names[v.clinic.Deputy])
		if late != "" {
			fv.DueText += ", overdue " + late
		}
	}
	fv.CanClose = fv.Card.MayClose(review.Role(v.staff.Role))
	for _, e := range x.Acts {
		text := fmt.Sprintf("%s: %s, %s", shortDay(e.Body.On, v.today), actName(e.Body.Act), names[e.Body.By])
		if to := names[e.Body.To]; to != "" {
			text += " to " + to
		}
		if !e.Body.Until.IsZero() {
			text += " until " + shortDay(e.Body.Until, v.today)
		}
		if e.Body.Text != "" {
			text += ": " + e.Body.Text
		}
		fv.Acts = append(fv.Acts, text)
	}
	return fv
}

// phoneView is one installation of the app as staff see it.
type phoneView struct {
	ledger.Author
	Seen string
}

func (v *visit) phoneViews(f file) []phoneView {
	var out []phoneView
	for _, a := range f.Phones {
		seen := "never"
		if !a.LastSeen.IsZero() {
			seen = ago(v.today.Sub(rom.DateOf(a.LastSeen.In(v.zone)))) + ", " + a.LastSeen.In(v.zone).Format("15:04")
		}
		out = append(out, phoneView{a, seen})
	}
	return out
}

// onPhone says whether the newest revision has arrived.
type onPhone struct {
	Any     bool // a phone is enrolled
	There   bool
	Since   time.Time
	Follows int
	Urgent  bool // the newest revision narrows or stops and is not there: call
}

func (v *visit) onPhone(f file, c care) onPhone {
	var o onPhone
	for _, a := range f.Phones {
		if a.State != ledger.Active {
			continue
		}
		o.Any = true
		if a.Following >= o.Follows {
			o.Follows, o.Since = a.Following, a.FollowingSince.In(v.zone)
		}
	}
	o.There = o.Any && c.HasPlan && o.Follows >= c.Plan.Rev
	if o.Any && c.HasPlan && !o.There {
		if had, ok := f.History.PlanAt(c.Episode.ID, o.Follows); ok {
			o.Urgent = c.Plan.Narrows(had)
		} else {
			o.Urgent = c.Plan.State != rom.Running
		}
	}
	return o
}
