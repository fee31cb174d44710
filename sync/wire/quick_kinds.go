package wire

import "unsling/engine/rom"

// quickly reads a body of one of the kinds that a history has thousands of.
// ok is false for every other kind and whenever encoding/json must look; a body
// that is read may still not be valid.
func quickly[T valid](raw []byte) (out T, ok bool) {
	q := quick{b: raw}
	switch p := any(&out).(type) {
	case *rom.Session:
		q.session(p)
	case *rom.Reading:
		q.reading(p)
	case *rom.Pain:
		q.pain(p)
	case *rom.SlingReport:
		q.sling(p)
	case *rom.Seen:
		q.seen(p)
	case *rom.Task:
		q.task(p)
	default:
		return out, false
	}
	return out, q.end()
}

func (q *quick) session(s *rom.Session) {
	q.open()
	if q.has(`"episode":`) {
		s.Episode = rom.EpisodeID(q.text())
	}
	if q.has(`"id":`) {
		s.ID = rom.SessionID(q.text())
	}
	if q.has(`"due":`) {
		s.Due = q.date()
	}
	if q.has(`"slot":`) {
		s.Slot = q.int()
	}
	if q.has(`"phase":`) {
		s.Phase = q.text()
	}
	if q.has(`"seconds":`) {
		s.Seconds = q.int()
	}
	if q.has(`"items":`) && !q.try("null") {
		q.items(s)
	}
	if q.has(`"pain_before":`) {
		s.Before = q.score()
	}
	if q.has(`"pain_worst":`) {
		s.Worst = q.score()
	}
	if q.has(`"pain_after":`) {
		s.After = q.score()
	}
	if q.has(`"ended":`) {
		s.Ended = rom.Ending(q.word())
	}
	if q.has(`"stop":`) {
		s.Stop = rom.StopReason(q.text())
	}
	if q.has(`"resumed":`) {
		s.Resumed = q.int()
	}
	if q.has(`"medicine":`) {
		b := q.bool()
		s.Medicine = &b
	}
	if q.has(`"helper":`) {
		s.ByHelper = q.bool()
	}
	if q.has(`"therapist":`) {
		s.Therapist = q.bool()
	}
	if q.has(`"by":`) {
		s.By = rom.StaffID(q.text())
	}
	q.close()
}

// items reads a list that is not empty.
func (q *quick) items(s *rom.Session) {
	s.Items = make([]rom.SessionItem, 0, 4)
	q.lit("[")
	for !q.bad {
		var it rom.SessionItem
		q.item(&it)
		s.Items = append(s.Items, it)
		if !q.try(",") {
			break
		}
	}
	q.lit("]")
	q.first = false
}

func (q *quick) item(it *rom.SessionItem) {
	q.open()
	if q.has(`"ex":`) {
		it.Exercise = rom.ExerciseID(q.word())
	}
	if q.has(`"m":`) {
		it.Motion = rom.Motion(q.word())
	}
	if q.has(`"dose":`) {
		q.dose(&it.Dose)
	}
	if q.has(`"holds":`) {
		q.holds(it)
	}
	if q.has(`"skipped":`) {
		it.Skipped = rom.SkipReason(q.text())
	}
	q.close()
}

func (q *quick) dose(d *rom.Dose) {
	q.open()
	if q.has(`"hold":`) {
		d.Hold = q.int()
	}
	if q.has(`"reps":`) {
		d.Reps = q.int()
	}
	if q.has(`"rest":`) {
		d.Rest = q.int()
	}
	if q.has(`"per_day":`) {
		d.PerDay = q.int()
	}
	q.close()
}

// holds reads a list that is not empty. The angles of one exercise stand
// together in memory.
func (q *quick) holds(it *rom.SessionItem) {
	room := min(max(it.Dose.Reps, 1), 100)
	it.Holds = make([]rom.Hold, 0, room)
	var angles []rom.Degrees
	q.lit("[")
	for !q.bad {
		var h rom.Hold
		q.open()
		if q.has(`"t":`) {
			h.Tenths = q.int()
		}
		if q.has(`"ok":`) {
			h.Counted = q.bool()
		}
		if q.has(`"angle":`) {
			if angles == nil {
				angles = make([]rom.Degrees, 0, room)
			}
			angles = append(angles, q.degrees())
			h.Angle = &angles[len(angles)-1]
		}
		if q.has(`"tap":`) {
			h.Tapped = q.bool()
		}
		q.close()
		it.Holds = append(it.Holds, h)
		if !q.try(",") {
			break
		}
	}
	q.lit("]")
	q.first = false
}

func (q *quick) reading(r *rom.Reading) {
	q.open()
	if q.has(`"episode":`) {
		r.Episode = rom.EpisodeID(q.text())
	}
	if q.has(`"side":`) {
		r.Side = rom.Side(q.word())
	}
	if q.has(`"m":`) {
		r.Motion = rom.Motion(q.word())
	}
	if q.has(`"class":`) {
		r.Class = q.class()
	}
	if q.has(`"method":`) {
		r.Method = rom.Method(q.word())
	}
	if q.has(`"position":`) {
		r.Position = rom.Position(q.word())
	}
	if q.has(`"trials":`) {
		q.trials(r)
	}
	if q.has(`"angle":`) {
		r.Angle = q.degrees()
	}
	if q.has(`"se":`) {
		r.SE = q.degrees()
	}
	if q.has(`"level":`) {
		r.Level = rom.Level(q.int())
	}
	if q.has(`"gh":`) {
		r.Glenohumeral = q.bool()
	}
	if q.has(`"anaesthetic":`) {
		r.Anaesthetic = q.bool()
	}
	if q.has(`"baseline":`) {
		r.Baseline = q.bool()
	}
	if q.has(`"pain":`) {
		r.Pain = q.score()
	}
	if q.has(`"end_feel":`) {
		r.EndFeel = rom.EndFeel(q.word())
	}
	if q.has(`"by":`) {
		r.By = rom.StaffID(q.text())
	}
	if q.has(`"on":`) {
		r.On = q.date()
	}
	if q.has(`"session":`) {
		r.Session = rom.SessionID(q.text())
	}
	q.close()
}

// trials reads a list that is not empty.
func (q *quick) trials(r *rom.Reading) {
	q.lit("[")
	for !q.bad {
		var t rom.Trial
		q.open()
		if q.has(`"angle":`) {
			t.Angle = q.degrees()
		}
		if q.has(`"se":`) {
			t.SE = q.degrees()
		}
		if q.has(`"marks":`) {
			q.marks(&t)
		}
		if q.has(`"out":`) {
			t.OutOfPlane = q.degrees()
		}
		q.close()
		r.Trials = append(r.Trials, t)
		if !q.try(",") {
			break
		}
	}
	q.lit("]")
	q.first = false
}

func (q *quick) marks(t *rom.Trial) {
	t.Landmarks = make([]rom.Point, 0, 4)
	q.lit("[")
	for !q.bad {
		var p rom.Point
		q.open()
		if q.has(`"x":`) {
			p.X = q.int()
		}
		if q.has(`"y":`) {
			p.Y = q.int()
		}
		q.close()
		t.Landmarks = append(t.Landmarks, p)
		if !q.try(",") {
			break
		}
	}
	q.lit("]")
	q.first = false
}

func (q *quick) pain(p *rom.Pain) {
	q.open()
	if q.has(`"episode":`) {
		p.Episode = rom.EpisodeID(q.text())
	}
	if q.has(`"score":`) {
		p.Score = q.int()
	}
	if q.has(`"when":`) {
		p.When = rom.PainWhen(q.word())
	}
	q.close()
}

func (q *quick) sling(s *rom.SlingReport) {
	q.open()
	if q.has(`"episode":`) {
		s.Episode = rom.EpisodeID(q.text())
	}
	if q.has(`"day":`) {
		s.Day = q.date()
	}
	if q.has(`"worn":`) {
		s.Worn = q.word()
	}
	q.close()
}

func (q *quick) seen(s *rom.Seen) {
	q.open()
	if q.has(`"what":`) {
		q.open()
		if q.has(`"author":`) {
			s.What.Author = rom.Author(q.text())
		}
		if q.has(`"n":`) {
			s.What.N = int64(q.int())
		}
		q.close()
	}
	if q.has(`"by":`) {
		s.By = rom.StaffID(q.text())
	}
	q.close()
}

func (q *quick) task(t *rom.Task) {
	q.open()
	if q.has(`"episode":`) {
		t.Episode = rom.EpisodeID(q.text())
	}
	if q.has(`"finding":`) {
		t.Finding = q.text()
	}
	if q.has(`"state":`) {
		t.State = q.text()
	}
	if q.has(`"act":`) {
		t.Act = rom.TaskAct(q.word())
	}
	if q.has(`"to":`) {
		t.To = rom.StaffID(q.text())
	}
	if q.has(`"until":`) {
		t.Until = q.date()
	}
	if q.has(`"text":`) {
		t.Text = q.text()
	}
	if q.has(`"by":`) {
		t.By = rom.StaffID(q.text())
	}
	if q.has(`"on":`) {
		t.On = q.date()
	}
	q.close()
}
