package gonio

import "unsling/engine/rom"

// Rater says who took two readings that are compared. The patient is one
// rater at all times.
type Rater string

// The raters.
const (
	Self           Rater = "self"
	SameClinician  Rater = "same-clinician"
	OtherClinician Rater = "other-clinician" // or it is not known whether the same
)

// SEM is the standard error of measurement that this program assumes.
type SEM struct {
	Method rom.Method
	Motion rom.Motion // empty: every motion without a row of its own
	Rater  Rater
	SEM    rom.Degrees
	From   rom.Source
	Why    string
}

// MDC95 returns the smallest detectable change that goes with s.
func (s SEM) MDC95() rom.Degrees {
	d, _ := rom.FromFloat(MDC95(s.SEM.Float()))
	return d
}

// SEMs are the standard errors that this program assumes. No study has
// measured passive angles of the shoulder taken by patients; the defaults are
// derived from what comes nearest, and a patient's own repeats (SDDifferences)
// may raise them, never lower them.
var SEMs = []SEM{
	{rom.Goniometer, "", SameClinician, rom.Deg(4), derived("KOLBER2011+FIESELER2017"), "optimistic: other samples give 4.4 to 23"},
	{rom.Inclinometer, "", SameClinician, rom.Deg(4), derived("KOLBER2011+FIESELER2017"), "optimistic: DOUGHERTY2015 gives 12.3 for flexion"},
	{rom.Goniometer, "", OtherClinician, rom.Deg(7), derived("DEWINTER2004"), "limits of agreement 18.8 and 19.6 between raters"},
	{rom.Inclinometer, "", OtherClinician, rom.Deg(7), derived("DEWINTER2004"), "limits of agreement 18.8 and 19.6 between raters"},
	{rom.Goniometer, rom.IR90, SameClinician, rom.Deg(7), derived("SHIN2012"), "weakest reliability of all motions"},
	{rom.Inclinometer, rom.IR90, SameClinician, rom.Deg(7), derived("SHIN2012"), "weakest reliability of all motions"},
	{rom.Photo, "", Self, rom.Deg(7), derived("SELFIE"), "elbow photographs by patients err by 10 to 11; the shoulder is harder"},
	{rom.Photo, "", SameClinician, rom.Deg(7), derived("SELFIE"), "as by the patient"},
	{rom.Photo, "", OtherClinician, rom.Deg(7), derived("SELFIE"), "as by the patient"},
	{rom.Tilt, "", Self, rom.Deg(7), derived("this-project"), "no direct data"},
	{rom.Tilt, "", SameClinician, rom.Deg(7), derived("this-project"), "no direct data"},
	{rom.Tilt, "", OtherClinician, rom.Deg(7), derived("this-project"), "no direct data"},
	{rom.Eye, "", Self, rom.Deg(25), derived("HAYES2001"), "upper end of 14 to 25 between raters; never used for change"},
	{rom.Eye, "", SameClinician, rom.Deg(23), derived("HAYES2001"), "upper end of 11 to 23 within a rater; never used for change"},
	{rom.Eye, "", OtherClinician, rom.Deg(25), derived("HAYES2001"), "upper end of 14 to 25 between raters; never used for change"},
}

func derived(key string) rom.Source { return rom.Source{Key: key, Mark: rom.Derived} }

// SEMFor returns the row for a method, motion and rater, the motion's own row
// first. ok is false for hand behind back and for what is no method of angles.
// A patient with a goniometer counts as a clinician of unknown hand.
func SEMFor(method rom.Method, m rom.Motion, r Rater) (s SEM, ok bool) {
	if !m.Valid() || m.ByLevel() {
		return SEM{}, false
	}
	if r == Self && (method == rom.Goniometer || method == rom.Inclinometer) {
		r = OtherClinician
	}
	for _, row := range SEMs {
		if row.Method != method || row.Rater != r {
			continue
		}
		if row.Motion == m {
			return row, true
		}
		if row.Motion == "" && !ok {
			s, ok = row, true
		}
	}
	return s, ok
}

// Reported is one published error of a method, for the pages that show where
// a default comes from. Zero fields are not given by the source.
type Reported struct {
	Method rom.Method
	Motion rom.Motion // empty: several
	Active bool
	Within bool // the same rater
	ICC    float64
	SEM    rom.Degrees
	MDC90  rom.Degrees
	LoA    rom.Degrees // half width of the limits of agreement
	Sample string
	From   rom.Source
}

// ReportedErrors are published errors, as read.
var ReportedErrors = []Reported{
	{Method: rom.Inclinometer, Motion: rom.ForwardFlexion, Active: true, Within: true, ICC: .83, Sample: "30 healthy", From: read("KOLBER2011")},
	{Method: rom.Inclinometer, Motion: rom.Abduction, Active: true, Within: true, ICC: .91, Sample: "30 healthy", From: read("KOLBER2011")},
	{Method: rom.Inclinometer, Motion: rom.ForwardFlexion, Active: true, ICC: .58, MDC90: rom.Deg(8), Sample: "30 healthy", From: read("KOLBER2011")},
	{Method: rom.Inclinometer, Motion: rom.Abduction, Active: true, ICC: .95, MDC90: rom.Deg(4), Sample: "30 healthy", From: read("KOLBER2011")},
	{Method: rom.Inclinometer, Active: true, ICC: .88, MDC90: rom.Deg(9), Sample: "30 healthy; external rotation, its position not named", From: read("KOLBER2011")},
	{Method: rom.Inclinometer, Active: true, ICC: .93, MDC90: rom.Deg(8), Sample: "30 healthy; internal rotation, its position not named", From: read("KOLBER2011")},
	{Method: rom.Inclinometer, Motion: rom.ForwardFlexion, Within: true, ICC: .82, SEM: 123, Sample: "168 healthy shoulders", From: read("DOUGHERTY2015")},
	{Method: rom.Inclinometer, Motion: rom.ERSide, Within: true, ICC: .28, SEM: rom.Deg(31), Sample: "168 healthy shoulders", From: read("DOUGHERTY2015")},
	{Method: rom.Inclinometer, Motion: rom.Abduction, ICC: .83, LoA: 196, Sample: "155 with pain, glenohumeral", From: read("DEWINTER2004")},
	{Method: rom.Inclinometer, ICC: .90, LoA: 188, Sample: "155 with pain; external rotation, its position not named", From: read("DEWINTER2004")},
	{Method: rom.Inclinometer, SEM: rom.Deg(7), Sample: "50 capsulitis; error 5 to 7, if it is an SEM", From: read("PMC4340115")},
	{Method: rom.Goniometer, Active: true, Within: true, SEM: 99, Sample: "25 impingement; upper end of 4.4 to 9.9", From: read("FIESELER2017")},
	{Method: rom.Goniometer, Active: true, SEM: 88, Sample: "25 impingement; upper end of 2.3 to 8.8", From: read("FIESELER2017")},
	{Method: rom.Eye, Active: true, SEM: rom.Deg(25), Sample: "symptomatic; upper end of 14 to 25", From: read("HAYES2001")},
	{Method: rom.Photo, Motion: rom.ElbowFlexion, Active: true, ICC: .93, LoA: rom.Deg(10), Sample: "50 elbow contractures, patient's own picture", From: read("SELFIE")},
	{Method: rom.Photo, Motion: rom.ElbowExtension, Active: true, ICC: .95, LoA: rom.Deg(11), Sample: "50 elbow contractures, patient's own picture", From: read("SELFIE")},
}

func read(key string) rom.Source { return rom.Source{Key: key, Mark: rom.Read} }
