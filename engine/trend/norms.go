package trend

import "unsling/engine/rom"

// norm is a published mean of healthy people. SD is not given by the sources
// in a form that would serve here.
type norm struct {
	motion     rom.Motion
	from, upTo int // age in years, both included
	mean       float64
	src        rom.Source
	caveat     string
}

const (
	noSex     = "mean of women and men, since the sex is not recorded; from memory"
	youngOnly = "norm of athletes of about 19 years"
	activeOf  = "norm of active motion; passive motion goes a little farther"
)

// norms are what stands in when there is neither another arm nor a baseline.
// External rotation at the side has none for older people: no norm is given
// rather than that of students.
var norms = []norm{
	{rom.ForwardFlexion, 20, 44, 170.4, rom.Source{Key: "SOUCIE2011", Mark: rom.Memory}, noSex},
	{rom.ForwardFlexion, 45, 69, 166.1, rom.Source{Key: "SOUCIE2011", Mark: rom.Memory}, noSex},
	{rom.ForwardFlexion, 70, 85, 165, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Walker, 65 to 85 years, n = 60"},
	{rom.Abduction, 18, 54, 184, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Boone and Azen, 1 to 54 years"},
	{rom.Abduction, 55, 85, 165, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Walker, 65 to 85 years, the nearest group"},
	{rom.Extension, 18, 54, 62, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Boone and Azen, 1 to 54 years"},
	{rom.Extension, 55, 85, 44, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Walker, 65 to 85 years, the nearest group"},
	{rom.IR90, 18, 54, 69, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Boone and Azen, 1 to 54 years"},
	{rom.IR90, 55, 85, 62, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Walker, 65 to 85 years, the nearest group"},
	{rom.ER90, 18, 54, 104, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Boone and Azen, 1 to 54 years"},
	{rom.ER90, 55, 85, 81, rom.Source{Key: "NORKIN2016", Mark: rom.Read}, activeOf + "; Walker, 65 to 85 years, the nearest group"},
	{rom.ERSide, 16, 29, 77, rom.Source{Key: "VAIRO2012", Mark: rom.Read}, activeOf + "; " + youngOnly},
}

func normFor(m rom.Motion, age int) (norm, bool) {
	for _, n := range norms {
		if n.motion == m && age >= n.from && age <= n.upTo {
			return n, true
		}
	}
	return norm{}, false
}
