package fhirapi

import (
	"strings"
	"time"

	"unsling/server/formats/fhir"
)

// anyOf reports whether is holds for one of several values, divided by
// commas.
func anyOf(value string, is func(string) bool) bool {
	for one := range strings.SplitSeq(value, ",") {
		if is(one) {
			return true
		}
	}
	return false
}

// isToken compares a code with what was asked: "code", "system|code",
// "system|" or "|code" (R4, search, token).
func isToken(asked, system, code string) bool {
	s, k, both := strings.Cut(asked, "|")
	if !both {
		return asked == code
	}
	return s == system && (k == "" || k == code)
}

func matchConcepts(list []fhir.Concept, value string) bool {
	return anyOf(value, func(one string) bool {
		for _, c := range list {
			for _, k := range c.Coding {
				if isToken(one, k.System, k.Code) {
					return true
				}
			}
		}
		return false
	})
}

func matchCode(_ *call, r fhir.Resource, value string) (bool, error) {
	o, ok := r.(fhir.Observation)
	return ok && matchConcepts([]fhir.Concept{o.Code}, value), nil
}

func matchCategory(_ *call, r fhir.Resource, value string) (bool, error) {
	switch r := r.(type) {
	case fhir.Observation:
		return matchConcepts(r.Category, value), nil
	case fhir.CarePlan:
		return matchConcepts(r.Category, value), nil
	}
	return false, nil
}

func matchIdentifier(_ *call, r fhir.Resource, value string) (bool, error) {
	p, ok := r.(fhir.Patient)
	return ok && anyOf(value, func(one string) bool {
		for _, i := range p.Identifier {
			if isToken(one, i.System, i.Value) {
				return true
			}
		}
		return false
	}), nil
}

func matchTarget(c *call, r fhir.Resource, value string) (bool, error) {
	p, ok := r.(fhir.Provenance)
	return ok && anyOf(value, func(one string) bool {
		return p.Target[0].Reference == strings.TrimPrefix(one, c.door.base()+"/")
	}), nil
}

func matchDate(c *call, r fhir.Resource, value string) (bool, error) {
	on := ""
	switch r := r.(type) {
	case fhir.Observation:
		on = r.EffectiveDateTime
	case fhir.Procedure:
		on = r.PerformedDateTime
	}
	var bad error
	ok := anyOf(value, func(one string) bool {
		is, err := compare(on, one, c.zone)
		if err != nil {
			bad = err
		}
		return is
	})
	return ok, bad
}

// compare holds a date of a resource against what was asked, a date with a
// prefix. Both are stretches of time as long as their precision (R4, search,
// date).
func compare(on, asked string, zone *time.Location) (bool, error) {
	prefix := "eq"
	if len(asked) > 2 && asked[0] >= 'a' && asked[0] <= 'z' {
		prefix, asked = asked[:2], asked[2:]
	}
	from, to, ok := stretch(asked, zone)
	if !ok {
		return false, invalid("The date is none of the forms 2026, 2026-01, 2026-01-31 and 2026-01-31T10:00:00Z, after eq, ne, gt, lt, ge, le, sa or eb.")
	}
	low, high, known := stretch(on, zone)
	within := known && !low.Before(from) && !high.After(to)
	switch prefix {
	case "eq":
		return within, nil
	case "ne":
		return known && !within, nil
	case "gt":
		return known && high.After(to), nil
	case "lt":
		return known && low.Before(from), nil
	case "ge":
		return known && (high.After(to) || within), nil
	case "le":
		return known && (low.Before(from) || within), nil
	case "sa":
		return known && !low.Before(to), nil
	case "eb":
		return known && !high.After(from), nil
	}
	return false, invalid("The prefix " + prefix + " of a date is not known here.")
}

// stretch is what a date stands for: from its beginning up to the next.
func stretch(s string, zone *time.Location) (from, to time.Time, ok bool) {
	for _, form := range []struct {
		layout string
		next   func(time.Time) time.Time
	}{
		{"2006", func(t time.Time) time.Time { return t.AddDate(1, 0, 0) }},
		{"2006-01", func(t time.Time) time.Time { return t.AddDate(0, 1, 0) }},
		{"2006-01-02", func(t time.Time) time.Time { return t.AddDate(0, 0, 1) }},
		{"2006-01-02T15:04", func(t time.Time) time.Time { return t.Add(time.Minute) }},
		{"2006-01-02T15:04Z07:00", func(t time.Time) time.Time { return t.Add(time.Minute) }},
		{"2006-01-02T15:04:05", func(t time.Time) time.Time { return t.Add(time.Second) }},
		{time.RFC3339Nano, func(t time.Time) time.Time { return t.Add(time.Second) }},
	} {
		if t, err := time.ParseInLocation(form.layout, s, zone); err == nil {
			return t, form.next(t), true
		}
	}
	return from, to, false
}
