package clinic

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"unsling/engine/protocol"
	"unsling/engine/rom"
	"unsling/server/access"
	"unsling/server/clinic/planning"
	"unsling/server/ledger"
	"unsling/sync/wire"
)

type episodePage struct {
	Care       care
	Names      map[rom.StaffID]string
	Procedures []procedureChoice
	Questions  []protocol.Question
	Motions    []rom.Motion
	Base       string
	Tapped     rom.Side // what the patient tapped on the phone, if anything
	MayConfirm bool
	MaySide    bool
	SideWhy    string // why this person may not confirm the side
	Mismatch   bool   // the patient tapped the other shoulder
}

// notMonitored keeps a programme from starting that nobody would watch.
const notMonitored = "No programme can start yet: the clinic's hours, a number outside them and a deputy must be set under Clinic first."

// referenceMotions are those for which the other arm can be a reference.
var referenceMotions = []rom.Motion{rom.ForwardFlexion, rom.Abduction, rom.ERSide, rom.ER90, rom.IR90, rom.HandBehindBack}

// episodePage shows an episode and the acts that its state allows.
func (d *Desk) episodePage(v *visit) error {
	f, c, err := v.shown()
	if err != nil {
		return err
	}
	return v.episodeShow(http.StatusOK, f, c, "")
}

func (v *visit) episodeShow(status int, f file, c care, problem string) error {
	names, err := v.staffNames()
	if err != nil {
		return err
	}
	adopted, err := v.adopted()
	if err != nil {
		return err
	}
	p := episodePage{Care: c, Names: names, Motions: referenceMotions, Base: "/clinic/patients/" + string(v.patient.ID)}
	for _, id := range rom.Procedures {
		_, ok := adopted[id]
		p.Procedures = append(p.Procedures, procedureChoice{id, name(procedureNames, id), ok})
	}
	for _, id := range c.Episode.Procedures {
		p.Questions = append(p.Questions, adopted[id].Questions...)
	}
	p.Tapped = tappedSide(f)
	p.MayConfirm = v.may(access.ConfirmOperation) == nil
	p.Mismatch = p.Tapped != "" && p.Tapped != c.Episode.Side
	if err := v.mayAfter(access.ConfirmSide, c.Episode.ConfirmedBy); err != nil {
		p.SideWhy = err.Error()
	} else if !v.clinic.Monitoring() {
		p.SideWhy = notMonitored
	} else {
		p.MaySide = true
	}
	return v.showWith(status, "episode", frame{Title: "Episode of " + v.patient.Name, Error: problem, Page: p})
}

const staleEpisode = "Somebody else changed this episode in the meantime. Please look at it as it is now."

// showAgain shows the page of an episode once more after err kept anything from
// being written: with the refusal as text, or, where somebody else was quicker,
// as it is now with the text quicker. Any other error is returned.
func (v *visit) showAgain(err error, f file, c care, quicker string, show func(int, file, care, string) error) error {
	var s *sorry
	switch {
	case errors.As(err, &s):
		return show(s.status, f, c, s.text)
	case errors.Is(err, ledger.ErrStale):
		if f, err = v.file(); err != nil {
			return err
		}
		c, _ = f.Current(c.Episode.ID)
		return show(http.StatusConflict, f, c, quicker)
	}
	return err
}

// tappedSide is the shoulder that the patient tapped last, if any.
func tappedSide(f file) (side rom.Side) {
	for _, e := range f.History.Installs {
		if e.Body.SideTapped != "" {
			side = e.Body.SideTapped
		}
	}
	return side
}

// episodeAct takes the next step of an episode.
func (d *Desk) episodeAct(v *visit) error {
	f, c, err := v.care()
	if err != nil {
		return err
	}
	e := c.Episode
	if n, err := strconv.Atoi(v.form("version")); err != nil || n != e.Version {
		return v.episodeShow(http.StatusConflict, f, c, staleEpisode)
	}
	e.Version, e.By, e.Reason = e.Version+1, v.staff.ID, v.form("reason")
	step := v.form("act")
	steps := map[string]func(*visit, file, care, rom.Episode) ([]ledger.Draft, *ledger.Base, error){
		"date": bookDate, "postpone": postpone, "confirm": confirmOperation, "side": confirmSide,
		"other-arm": otherArm, "discharge": discharge, "withdraw": withdraw, "transfer": transfer,
	}
	do, ok := steps[step]
	if ok && c.Episode.Correction != nil && !slices.Contains([]string{"discharge", "withdraw", "transfer"}, step) {
		return v.episodeShow(http.StatusUnprocessableEntity, f, c, correctionWaits)
	}
	if !ok {
		return v.episodeShow(http.StatusUnprocessableEntity, f, c, "Please choose what to do with this episode.")
	}
	drafts, base, err := do(v, f, c, e)
	if err == nil {
		err = v.write(base, drafts...)
	}
	if err != nil {
		return v.showAgain(err, f, c, staleEpisode, v.episodeShow)
	}
	what := map[string]string{"side": "started", "discharge": "ended", "withdraw": "ended", "transfer": "ended"}[step]
	if what == "" {
		what = "episode"
	}
	return v.back("/clinic/patients/"+string(v.patient.ID)+"/episode?episode="+string(e.ID), what)
}

func one(v *visit, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	dr, err := v.draft(wire.KindEpisode, e)
	return []ledger.Draft{dr}, nil, err
}

// bookDate sets or moves the date of a planned operation.
func bookDate(v *visit, _ file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.PlanEpisode); err != nil {
		return nil, nil, err
	}
	if c.Episode.State != rom.Planned {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "The operation is confirmed. Its date can only be corrected by two people.")
	}
	on, err := v.dateField("surgery", "Date of surgery")
	if err != nil {
		return nil, nil, err
	}
	if days := on.Sub(v.today); on.IsZero() || days > 730 || days < -730 {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Please give a date of surgery within two years of today. If there is none yet, press Postponed.")
	}
	e.Surgery, e.Postponed = on, false
	return one(v, e)
}

// postpone freezes everything until a new date is given.
func postpone(v *visit, _ file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.PlanEpisode); err != nil {
		return nil, nil, err
	}
	if c.Episode.State != rom.Planned {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Only a planned operation can be postponed.")
	}
	e.Postponed = true
	return one(v, e)
}

// confirmOperation is the surgeon's: what was done, on which day, with which
// answers. The plan is made again from the protocols of what was done. The
// programme starts when a second person has confirmed the side.
func confirmOperation(v *visit, f file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.ConfirmOperation); err != nil {
		return nil, nil, err
	}
	if c.Episode.State != rom.Planned {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "The operation is confirmed already.")
	}
	on, err := v.dateField("surgery", "Date of surgery")
	if err != nil {
		return nil, nil, err
	}
	if on.IsZero() || on > v.today || v.today.Sub(on) > 730 {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "An operation can be confirmed from the day on which it was done. Please check the date.")
	}
	if rom.Side(v.form("side")) != e.Side {
		return nil, nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("The episode was booked for the %s shoulder. Choose the side from the operation note; if it differs, ask for a correction below: a second person confirms it.", e.Side))
	}
	var done []rom.Procedure
	for _, s := range v.r.PostForm["procedures"] {
		if p := rom.Procedure(s); p.Valid() {
			done = append(done, p)
		}
	}
	if len(done) == 0 {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Please tick what was done.")
	}
	// The booked main procedure stays first where it was done.
	slices.SortStableFunc(done, func(a, b rom.Procedure) int {
		return place(c.Episode.Procedures, a) - place(c.Episode.Procedures, b)
	})
	block, err := v.number("block_hours", "The hours of the nerve block", 0, 120)
	if err != nil {
		return nil, nil, err
	}
	e.Surgery, e.Procedures, e.BlockHours, e.Postponed = on, done, block, false
	e.ConfirmedBy, e.ConfirmedOn, e.SideBy = v.staff.ID, v.today, ""
	drafts, _, err := one(v, e)
	if err != nil {
		return nil, nil, err
	}
	answers := map[string]string{}
	for key, values := range v.r.PostForm {
		if q, ok := strings.CutPrefix(key, "q-"); ok && len(values) > 0 && (values[0] == "yes" || values[0] == "no") {
			answers[q] = values[0]
		}
	}
	choices := planning.Again(c.Plan)
	choices.Answers, choices.Reason, choices.Rev = answers, "Operation confirmed", nextRev(f)
	plan, err := v.firstPlan(e, choices)
	if err != nil {
		return nil, nil, err
	}
	dr, err := v.draft(wire.KindPlan, plan)
	if err != nil {
		return nil, nil, err
	}
	return append(drafts, dr), &ledger.Base{Episode: e.ID, Base: c.Plan.Rev, New: plan.Rev}, nil
}

func place(list []rom.Procedure, p rom.Procedure) int {
	if i := slices.Index(list, p); i >= 0 {
		return i
	}
	return len(list)
}

// confirmSide is for another person than the surgeon, from the operation
// note. With it the programme starts.
func confirmSide(v *visit, f file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.mayAfter(access.ConfirmSide, c.Episode.ConfirmedBy); err != nil {
		return nil, nil, err
	}
	if c.Episode.State != rom.Planned {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "The side is confirmed already.")
	}
	if rom.Side(v.form("side")) != e.Side {
		return nil, nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("Please choose the side from the operation note. This episode is about the %s shoulder: if the note says otherwise, stop and speak with the surgeon.", e.Side))
	}
	if !v.clinic.Monitoring() {
		return nil, nil, refuse(http.StatusUnprocessableEntity, notMonitored)
	}
	if tapped := tappedSide(f); tapped != "" && tapped != e.Side && v.form("sure") != "yes" {
		return nil, nil, refuse(http.StatusUnprocessableEntity, fmt.Sprintf("The patient tapped the %s shoulder. Call the patient, look at the operation note again, and tick that this is cleared up.", tapped))
	}
	e.SideBy, e.State = v.staff.ID, rom.Confirmed
	first, _, err := one(v, e)
	if err != nil {
		return nil, nil, err
	}
	e.Version, e.State = e.Version+1, rom.Ongoing
	second, _, err := one(v, e)
	return append(first, second...), nil, err
}

// otherArm says for which motions the other arm is a usable reference.
func otherArm(v *visit, _ file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.AddReading); err != nil {
		return nil, nil, err
	}
	if c.Episode.State.Ended() {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "The episode has ended.")
	}
	e.OtherArm = nil
	for _, s := range v.r.PostForm["motions"] {
		if m := rom.Motion(s); m.Valid() {
			e.OtherArm = append(e.OtherArm, m)
		}
	}
	return one(v, e)
}

func discharge(v *visit, _ file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.Discharge); err != nil {
		return nil, nil, err
	}
	return end(v, c, e, rom.Discharged)
}

func withdraw(v *visit, _ file, c care, e rom.Episode) ([]ledger.Draft, *ledger.Base, error) {
	if err := v.may(access.Withdraw); err != nil {
		return nil, nil, err
	}
	return end(v, c, e, rom.Withdrawn)
}

// end closes an episode: from then on the phone says that nobody reads it.
func end(v *visit, c care, e rom.Episode, state rom.EpisodeState) ([]ledger.Draft, *ledger.Base, error) {
	if !c.Episode.State.CanBecome(state) || c.Episode.State.Ended() {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "This episode cannot be "+name(stateNames, state)+" while it is "+name(stateNames, c.Episode.State)+".")
	}
	if e.Reason == "" {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "Please say in a few words why.")
	}
	e.State, e.Ended, e.Correction = state, v.today, nil
	return one(v, e)
}
