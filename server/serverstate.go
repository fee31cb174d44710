package main

import "unsling/server/clinic"

// forClinic is what the administrators' page shows.
func (u *upkeep) forClinic() clinic.ServerState {
	s, d := u.snapshot(), u.detail()
	out := clinic.ServerState{
		Ready: d.Ready, Room: d.Room, Free: s.Free, App: u.h.site.Version(), Started: u.started,
		Verified: s.Verify.Good, Report: s.Verified, Backup: s.Backup.Good, HasBackup: u.backup != nil, LeftOut: s.Damaged, Troubles: d.Errors,
	}
	if h, err := u.h.store.Health(); err == nil {
		out.Store = h
	}
	if about, err := u.h.store.About(); err == nil {
		out.About = about
	}
	return out
}
