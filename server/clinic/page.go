package clinic

import (
	"bytes"
	"embed"
	"errors"
	"html/template"
	"io/fs"
	"net/http"
	"slices"
	"strings"

	"unsling/app/chart"
	"unsling/app/figure"
	"unsling/server/access"
	"unsling/server/ledger"
	"unsling/sync/replica"
)

//go:embed pages/*.html
var pageFiles embed.FS

//go:embed assets/*
var assetFiles embed.FS

// policy is the content security policy of the clinic's pages: nothing runs
// but our own scripts from assets, which no page needs; nothing is fetched
// from elsewhere, nothing may frame them.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// secured sets the headers of every answer.
func secured(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), accelerometer=(), gyroscope=()")
		h.Set("Cache-Control", "no-store")
		most := int64(maxBody)
		if r.URL.Path == importPath {
			most = importBody
		}
		r.Body = http.MaxBytesReader(w, r.Body, most)
		next.ServeHTTP(w, r)
	})
}

var pages = parsePages()

func parsePages() map[string]*template.Template {
	set := map[string]*template.Template{}
	names, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil || len(names) == 0 {
		panic("clinic: no pages embedded")
	}
	base := template.Must(template.New("").Funcs(helpers).ParseFS(pageFiles, "pages/frame.html", "pages/parts.html"))
	for _, name := range names {
		short := strings.TrimSuffix(strings.TrimPrefix(name, "pages/"), ".html")
		if short == "frame" || short == "parts" {
			continue
		}
		set[short] = template.Must(template.Must(base.Clone()).ParseFS(pageFiles, name))
	}
	return set
}

// frame is what every page carries around its own data.
type frame struct {
	Title  string
	Demo   bool
	Clinic ledger.Clinic
	Staff  *ledger.Staff // nil before sign-in
	Here   string        // "list", "enrol", "protocols", "settings" or ""
	Notice string        // what is wrong with the server
	Error  string        // one sentence on top
	Done   string        // what was just done
	Print  bool          // a sheet for paper: no navigation
	Alarms []string      // what the care team has to know before anything else
	Page   any
	Undo   *undoing // of what was just done; nil when there is nothing to undo
	visit  *visit
}

// Can lets a page leave out what the person may not do.
func (f frame) Can(act string) bool { return f.visit != nil && f.visit.can(act) }

// Patient is the patient of the page.
func (f frame) Patient() ledger.Patient { return f.visit.patient }

// show writes a page. The page is complete before the first byte leaves, so
// a fault in the middle never shows half a patient.
func (v *visit) show(name, title, here string, page any) error {
	return v.showWith(http.StatusOK, name, frame{Title: title, Here: here, Page: page})
}

func (v *visit) showWith(status int, name string, f frame) error {
	f.visit, f.Clinic, f.Staff, f.Demo = v, v.clinic, &v.staff, v.clinic.Demo
	if f.Done == "" {
		f.Done = done[v.r.URL.Query().Get("done")]
	}
	f.Undo = v.undoing()
	f.Notice = v.desk.notice()
	f.Alarms = append(f.Alarms, v.alarms(f.Here)...)
	return write(v.w, status, name, f)
}

func write(w http.ResponseWriter, status int, name string, f frame) error {
	t, ok := pages[name]
	if !ok {
		return errors.New("clinic: no page " + name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "frame", f); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
	return nil
}

// back answers a form that was taken: the page is shown again by GET, so that
// reloading does nothing twice.
func (v *visit) back(to, what string) error {
	sep := "?"
	if strings.Contains(to, "?") {
		sep = "&"
	}
	to += sep + "done=" + what
	if v.once != nil {
		v.once.to = to
	}
	http.Redirect(v.w, v.r, to, http.StatusSeeOther)
	return nil
}

// done is what a page says after an act, by the key in the address.
var done = map[string]string{
	"setup":              "You are signed in. This clinic asks for a second proof beside the password: please add a passkey or an authenticator app now. Patients open after that.",
	"account":            "Saved.",
	"passkey":            "The passkey is added.",
	"joined":             "Welcome. Your sign-in is set up. Add a second passkey or print recovery codes, so that a lost device does not keep you out.",
	"confirmed":          "Confirmed. The person can use the code now.",
	"staff":              "Saved.",
	"glass":              "The emergency access has ended.",
	"broken":             "Emergency access is open for one hour. The care team is told.",
	"inteam":             "You are in this patient's care team: no emergency access was needed.",
	"disabled":           "This person can no longer sign in, and every session has ended. The patients and findings have gone to the person you chose.",
	"others":             "You are signed in. What was written here before belongs to somebody else and was not given to you.",
	"imported":           "Brought in. Each has a planned episode: a surgeon confirms the operation before anything starts. Invite the phones from the patients' pages.",
	"enrolled":           "Enrolled. The sheet below is shown once; print it or let the patient scan it now.",
	"invited":            "New invitation made. It is shown once.",
	"episode":            "Saved. The phone learns of it at its next contact.",
	"plan":               "The new revision is saved. Below you see when it is on the phone.",
	"cleared":            "Cleared. The phone opens the phase on its day, from its next contact.",
	"withdrawn":          "The clearance is withdrawn. The phone closes the phase at its next contact.",
	"again":              "Kept open.",
	"started":            "The side is confirmed and the programme has started.",
	"correction-ask":     "Asked. The plan is stopped. A second person confirms or turns it down. Call the patient.",
	"correction-confirm": "Corrected. The phone learns of it at its next contact.",
	"correction-refuse":  "Turned down. Side and date stay; the plan stays stopped until a surgeon lets it go on.",

	"another":   "Booked. The phone learns of it at its next contact.",
	"ended":     "The episode has ended. The phone says so at its next contact.",
	"finding":   "Noted.",
	"corrected": "Corrected. What stood before stays readable.",
	"released":  "Let in. The records stand below.",
	"undone":    "Taken back. The finding stands as before.",
	"looked":    "Marked as seen. What comes from now on is new.",
	"entry":     "Entered.",
	"adopted":   "Adopted. It can be prescribed from now on.",
	"settings":  "Saved.",
	"team":      "The care team is changed.",
	"phone":     "Done.",

	"restriction": "Noted. What that means stands below.",
}

const full = "The server's disk is nearly full, so nothing was changed. Please tell whoever looks after the server. Phones keep their records meanwhile."

const broken = "Something went wrong on the server. Nothing was changed. Please try again."

// plain answers where nobody is known to be signed in.
func (d *Desk) plain(w http.ResponseWriter, status int, text string) {
	if err := write(w, status, "sorry", frame{Title: http.StatusText(status), Error: text}); err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
	}
}

func (d *Desk) notice() string {
	if d.Notice == nil {
		return ""
	}
	return d.Notice()
}

// fail answers a request that came to nothing.
func (d *Desk) fail(v *visit, err error) {
	status, text := http.StatusInternalServerError, broken
	var s *sorry
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &s):
		status, text = s.status, s.text
	case errors.Is(err, errNotFound):
		status, text = http.StatusNotFound, "There is no page at this address."
	case errors.Is(err, errNoPatient):
		status, text = http.StatusNotFound, "There is no such patient in your care."
	case errors.Is(err, replica.ErrPlanLost):
		status, text = http.StatusConflict, "The phone follows a newer plan than this server has. Wait until the phone has returned it, then change the plan."
	case errors.Is(err, ledger.ErrStale):
		status, text = http.StatusConflict, "Somebody else changed this in the meantime. Nothing was changed. Please look at it as it is now."
	case errors.Is(err, ledger.ErrErased):
		status, text = http.StatusGone, "The data of this patient was erased."
	case errors.Is(err, ledger.ErrFull):
		status, text = http.StatusServiceUnavailable, full
	case errors.As(err, &tooBig):
		status, text = http.StatusRequestEntityTooLarge, "That was too much text for one form. Nothing was changed."
	default:
		d.Log.Error("clinic page failed", "route", v.r.Pattern, "error", err.Error())
	}
	f := frame{Title: http.StatusText(status), Error: text, Notice: d.notice(), Page: errors.Is(err, errNoPatient) && v.can(string(access.BreakGlass))}
	f.visit, f.Clinic, f.Staff, f.Demo = v, v.clinic, &v.staff, v.clinic.Demo
	if err := write(v.w, status, "sorry", f); err != nil {
		d.Log.Error("clinic page failed", "error", err.Error())
	}
}

// serveAsset serves the style sheet, which is desk.css with every other one,
// and the scripts of assets.
func serveAsset(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	script, err := assetFiles.ReadFile("assets/" + name)
	cache := w.Header().Get("Cache-Control")
	w.Header().Set("Cache-Control", "no-cache")
	switch {
	case name == "desk.css":
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		_, _ = w.Write(stylesheet)
	case err == nil && strings.HasSuffix(name, ".js"):
		w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
		_, _ = w.Write(script)
	default:
		w.Header().Set("Cache-Control", cache)
		http.Error(w, "There is no such file.", http.StatusNotFound)
	}
}

var stylesheet = func() []byte {
	var b bytes.Buffer
	names, err := fs.Glob(assetFiles, "assets/*.css")
	if err != nil || !slices.Contains(names, "assets/desk.css") {
		panic("clinic: no style sheet embedded")
	}
	for _, name := range append([]string{"assets/desk.css"}, slices.DeleteFunc(names, func(n string) bool { return n == "assets/desk.css" })...) {
		own, err := assetFiles.ReadFile(name)
		if err != nil {
			panic(err)
		}
		b.Write(append(own, '\n'))
	}
	return []byte(b.String() + figure.Stylesheet + "\n" + chart.Stylesheet)
}()
