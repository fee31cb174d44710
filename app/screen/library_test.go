package screen

import (
	"reflect"
	"testing"

	"github.com/maxence-charriere/go-app/v10/pkg/app"

	"unsling/engine/rom"
)

// TestRouteMakesANewComponentEachTime: the library refuses one that is mounted.
func TestRouteMakesANewComponentEachTime(t *testing.T) {
	make := Routes(New((&fakePhone{}).deps()))
	one, two := make(), make()
	if one == two {
		t.Fatal("the same component twice")
	}
	if one.(*Phone).a != two.(*Phone).a {
		t.Error("two components with two states")
	}
}

// TestRootHasNoExportedFields: the library overwrites them when it draws anew.
func TestRootHasNoExportedFields(t *testing.T) {
	r := reflect.TypeFor[Phone]()
	for i := range r.NumField() {
		f := r.Field(i)
		if f.IsExported() && f.Type != reflect.TypeFor[app.Compo]() {
			t.Errorf("field %s is exported", f.Name)
		}
	}
}

// TestPanicsInHandlersAreToldAndNothingElseIsLost: a fault in a handler, in
// work and in drawing.
func TestPanicsInHandlersAreToldAndNothingElseIsLost(t *testing.T) {
	s := on(t, 20, 10)
	p := &Phone{a: s.a}
	p.guard(func() { panic("a fault") })
	if s.a.notice == "" || !s.a.urgent {
		t.Error("a fault in a handler is not told")
	}
	before := len(s.f.appended)
	s.a.writeNote()
	s.a.help.text = "still here"
	s.a.sendNote()
	if len(s.f.appended) != before+1 {
		t.Error("after a fault nothing can be kept")
	}
}

// TestNothingBlocksTheUI taps what reaches disk, network or sensors; the scene
// notes a call on the UI's thread, here and in every other test.
func TestNothingBlocksTheUI(t *testing.T) {
	s := on(t, 45, 10)
	a := s.a
	for _, act := range []func(){
		a.sendNow, a.askPersist, a.install, a.shareRecord, a.export, a.saveReminders, a.startMain, func() { a.sessionPain(1) },
		func() { a.Arrive("/measure", "") }, func() { a.chooseRow(rom.ForwardFlexion, rom.Right) }, func() { a.chooseWay(0) },
		a.openCamera, a.takePhoto, a.fileChosen,
	} {
		act()
	}
	s.f.blocks("a call by the test itself")
	if len(s.f.blocked) != 1 {
		t.Errorf("blocked the UI: %v", s.f.blocked)
	}
	s.f.blocked = nil
}
