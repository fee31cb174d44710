package main

import (
	"unsling/app/screen"
	"unsling/sync/client"
	"unsling/sync/replica"
	"unsling/sync/wire"
)

// accountOf is what the screens are told of the enrolment. A phone that waits for the clinic's word has it once an exchange
// came through.
func accountOf(in client.Installation, st replica.State) screen.Account {
	if in.Enrolled == nil {
		return screen.Account{}
	}
	e := *in.Enrolled
	out := screen.Account{State: screen.Active, Check: e.Check, Clinic: e.Clinic.Name, Phone: e.Clinic.Phone, Zone: e.Clinic.Zone,
		Forgotten: st.Unknown}
	switch {
	case st.Revoked, e.State == wire.Revoked:
		out.State = screen.Revoked
	case e.State == wire.Waiting && st.Contact.IsZero():
		out.State = screen.Pending
	}
	return out
}
