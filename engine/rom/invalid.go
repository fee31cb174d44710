package rom

import "fmt"

// InvalidError says which field of a noun breaks which rule. Its text is one
// clear sentence without any patient data in it.
type InvalidError struct {
	Field string // path of the field, such as "phases[2].limits[0].ceiling"
	Rule  string // what it must be, as the predicate of a sentence
}

func (e *InvalidError) Error() string { return e.Field + " " + e.Rule }

func invalid(field, rule string, args ...any) error {
	return &InvalidError{Field: field, Rule: fmt.Sprintf(rule, args...)}
}

// within prefixes the field of an InvalidError with its container.
func within(container string, err error) error {
	if e, ok := err.(*InvalidError); ok {
		return &InvalidError{Field: container + "." + e.Field, Rule: e.Rule}
	}
	return err
}
