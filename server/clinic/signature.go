package clinic

import "unsling/engine/rom"

// signature names the person to the patient, in what the phone shows. Roles
// beyond those that care for a patient are left out.
func (v *visit) signature() rom.Signature {
	s := rom.Signature{Name: v.staff.Name}
	switch r := string(v.staff.Role); r {
	case "surgeon", "therapist", "assistant":
		s.Role = r
	}
	if n := []rune(s.Name); len(n) > 100 {
		s.Name = string(n[:100])
	}
	return s
}
