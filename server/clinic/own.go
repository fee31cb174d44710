package clinic

import (
	"net/http"

	"unsling/engine/protocol"
	"unsling/server/access"
)

// ownPage is the form in which a clinic gives a protocol of its own.
type ownPage struct {
	Text    string
	Faults  []protocol.Fault
	Checked *protocol.Protocol // without faults
	Adopt   bool               // the person may adopt
	// Against is the protocol of the procedure that was adopted last, Changes
	// in what this one differs from it, Weak its values from memory.
	Against string
	Changes []string
	Weak    []string
}

// ownForm shows the empty form, or with ?from=ID the text of a protocol that
// comes with the program, to begin with.
func (d *Desk) ownForm(v *visit) error {
	if err := v.may(access.DraftProtocol); err != nil {
		return err
	}
	var p ownPage
	from := v.r.URL.Query().Get("from")
	if text, ok := protocol.File(from); ok {
		p.Text = string(text)
	} else if from != "" {
		text, err := v.nextVersion(from)
		if err != nil {
			return err
		}
		p.Text = text
	}
	return v.show("own", "The clinic's own protocol", "protocols", p)
}

// own checks what was written, by the same rules as the command
// check-protocol, and adopts it when a surgeon says so.
func (d *Desk) own(v *visit) error {
	if err := v.may(access.DraftProtocol); err != nil {
		return err
	}
	p := ownPage{Text: v.text("text"), Adopt: v.may(access.AdoptProtocol) == nil}
	if p.Text == "" {
		return v.showWith(http.StatusUnprocessableEntity, "own", frame{Title: "The clinic's own protocol", Here: "protocols", Error: "Please paste the protocol's text.", Page: p})
	}
	p.Faults = protocol.Check([]byte(p.Text))
	if len(p.Faults) > 0 {
		return v.showWith(http.StatusUnprocessableEntity, "own", frame{Title: "The clinic's own protocol", Here: "protocols", Error: "This protocol has faults. They are listed with their lines; your text is kept.", Page: p})
	}
	parsed, err := protocol.Parse([]byte(p.Text))
	if err != nil {
		return err
	}
	p.Checked = &parsed
	if err := v.reviewOwn(&p, parsed); err != nil {
		return err
	}
	problem := ""
	taken, err := v.versionTaken(parsed)
	if err != nil {
		return err
	}
	switch _, shipped := protocol.ByID(parsed.ID); {
	case taken:
		problem = "This version of the protocol is adopted already, with another text. Raise the number after \"version\", so that every plan names the text it was made from."
	case shipped:
		problem = "A protocol of this id comes with the program. Give yours an id of its own."
	case v.form("act") != "adopt":
	case v.form("reviewed") != "yes":
		problem = "Please tick that you have reviewed every value of this protocol."
	default:
		if err := v.may(access.AdoptProtocol); err != nil {
			return err
		}
		if problem, err = v.adopt(parsed); err != nil {
			return err
		}
		if problem == "" {
			return v.back("/clinic/protocols/"+parsed.ID, "adopted")
		}
	}
	status := http.StatusOK
	if problem != "" {
		status = http.StatusUnprocessableEntity
	}
	return v.showWith(status, "own", frame{Title: "The clinic's own protocol", Here: "protocols", Error: problem, Page: p})
}
