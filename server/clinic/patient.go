package clinic

import (
	"fmt"
	"slices"
	"time"

	"unsling/engine/dose"
	"unsling/engine/review"
	"unsling/engine/rom"
	"unsling/engine/schedule"
	"unsling/engine/trend"
	"unsling/server/access"
	"unsling/server/ledger"
)

// doseDays is how many days of sessions the patient's page shows.
const doseDays = 42

type patientPage struct {
	File     file
	Care     care
	HasCare  bool
	Contact  int // days since last contact
	Names    map[rom.StaffID]string
	Open     []findingView
	Quiet    []findingView
	Charts   []motionChart
	Dose     string
	DoseRows [][]string
	Adhere   dose.Adherence
	Pain     string
	PainRows [][]string
	Sessions []rom.Entry[rom.Session]
	Levels   []rom.Entry[rom.Reading]
	Stiff    []trend.Verdict
	Pattern  trend.Pattern
	Messages []message
	Phones   []phoneView
	OnPhone  onPhone
	Locked   []schedule.Allowed
	Team     []string
	Timeline []moment
	Base     string // address of this patient
}

// findingView is a finding with what may be done about it.
type findingView struct {
	review.Finding
	Card     review.Card
	OwnerNow string
	DueText  string
	CanClose bool
	Acts     []string
}

// patientPage answers: how is it going, may I let them go on, what shall I
// change. Opening it is audited.
func (d *Desk) patientPage(v *visit) error {
	f, err := v.file()
	if err != nil {
		return err
	}
	p, err := v.patientView(f, rom.EpisodeID(v.r.URL.Query().Get("episode")))
	if err != nil {
		return err
	}
	err = d.Store.Note(ledger.Entry{At: v.at.UTC(), Actor: string(v.staff.ID), Session: v.token.Session,
		Act: string(access.ViewPatient), Patient: string(v.patient.ID), Reason: v.trail().Reason})
	if err != nil {
		return err
	}
	return v.show("patient", v.patient.Name, "", p)
}

func (v *visit) patientView(f file, want rom.EpisodeID) (patientPage, error) {
	names, err := v.staffNames()
	if err != nil {
		return patientPage{}, err
	}
	p := patientPage{File: f, Names: names, Contact: -1, Base: "/clinic/patients/" + string(v.patient.ID)}
	if !f.Contact.IsZero() {
		p.Contact = v.today.Sub(f.Contact)
	}
	for _, m := range v.team {
		if n := names[m.Staff]; n != "" {
			p.Team = append(p.Team, n)
		}
	}
	p.Phones = v.phoneViews(f)
	p.Care, p.HasCare = f.current(want)
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
	var course []schedule.Day
	if c.HasPlan && !c.Episode.Surgery.IsZero() && c.Episode.Surgery <= v.today && v.today.Sub(c.Episode.Surgery) < 800 {
		course = schedule.Range(f.History, c.Episode.ID, c.Episode.Surgery, v.today, schedule.With{LastContact: f.Contact})
	}
	p.Charts = v.motionCharts(f, c, course)
	if len(course) > 0 {
		from := max(c.Episode.Surgery, v.today.Add(1-doseDays))
		days := dose.Days(f.History, c.Episode.ID, from, v.today, f.Contact)
		pic := doseChart(days, c.Episode.Surgery, v.today)
		p.Dose, p.DoseRows = pic.SVG(), pic.Table()
		p.Adhere = dose.Adhere(days)
		pain := painChart(f.History, c, from, v.today)
		p.Pain, p.PainRows = pain.SVG(), pain.Table()
		p.Stiff = trend.Stiffness(f.History, c.Episode, v.today)
		p.Pattern = trend.PatternOf(f.History, c.Episode, v.today, ceilingOf(c.Day.Motion(rom.ERSide)))
	}
	for _, e := range f.History.Sessions {
		if e.Body.Episode == c.Episode.ID {
			p.Sessions = append(p.Sessions, e)
		}
	}
	slices.Reverse(p.Sessions)
	p.Sessions = p.Sessions[:min(len(p.Sessions), 12)]
	for _, e := range f.History.Readings {
		if e.Body.Episode == c.Episode.ID && e.Body.Motion.ByLevel() {
			p.Levels = append(p.Levels, e)
		}
	}
	for _, x := range c.Day.Exercises {
		if x.Locked {
			p.Locked = append(p.Locked, x)
		}
	}
	p.OnPhone = v.onPhone(f, c)
	p.Messages = messages(f.History, c.Episode.ID, names)
	p.Timeline = timeline(f.History, names)
	return p, nil
}

func ceilingOf(a schedule.Allowance) *rom.Degrees {
	if a.Locked || a.Limit.Open {
		return nil
	}
	return &a.Limit.Ceiling
}

func (v *visit) findingView(x review.Finding, names map[rom.StaffID]string) findingView {
	fv := findingView{Finding: x, Card: review.CardFor(x.Class), OwnerNow: string(x.Owner)}
	if n := names[x.Assigned]; n != "" {
		fv.OwnerNow = n
	}
	fv.DueText = string(x.Due)
	if !x.By.On.IsZero() {
		fv.DueText = fmt.Sprintf("by %s, %s", day(x.By.On), clockTime(x.By.Minute))
	}
	for _, r := range fv.Card.Closes {
		if ledger.Role(r) == v.staff.Role {
			fv.CanClose = true
		}
	}
	for _, e := range x.Acts {
		text := fmt.Sprintf("%s: %s, %s", day(e.Body.On), actName(e.Body.Act), names[e.Body.By])
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
