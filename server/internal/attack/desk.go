package main

import (
	"errors"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"time"
)

// seat is somebody at a browser of the clinic.
type seat struct {
	a      *assault
	from   string
	cookie string // name=value
	raw    []string
}

func (a *assault) person(role string) person {
	for _, s := range a.t.Staff {
		if s.Role == role {
			return s
		}
	}
	panic("the invented clinic has no " + role)
}

func (a *assault) login(login string) person {
	for _, s := range a.t.Staff {
		if s.Login == login {
			return s
		}
	}
	panic("the invented clinic has no " + login)
}

// signIn signs a person in with the password that the demo printed.
func (a *assault) signIn(p person, from string) (*seat, error) {
	s := &seat{a: a, from: from}
	r := s.signInWith(url.Values{"login": {p.Login}, "password": {p.Password}})
	if r.status != http.StatusSeeOther || s.cookie == "" {
		return nil, fmt.Errorf("sign in as %s: %d", p.Login, r.status)
	}
	return s, nil
}

// signInWith posts the form, again while the server holds everybody up because of what the attacks before have guessed.
func (s *seat) signInWith(form url.Values) (r answer) {
	for end := time.Now().Add(5 * time.Minute); time.Now().Before(end); time.Sleep(500 * time.Millisecond) {
		if r = s.post("/clinic/sign-in", form); r.status != http.StatusTooManyRequests {
			break
		}
	}
	return r
}

func (s *seat) keep(r answer) {
	for _, line := range r.head.Values("Set-Cookie") {
		c, err := http.ParseSetCookie(line)
		if err != nil {
			continue
		}
		s.raw = append(s.raw, line)
		if c.MaxAge >= 0 && c.Value != "" {
			s.cookie = c.Name + "=" + c.Value
			s.a.mu.Lock()
			s.a.secrets = append(s.a.secrets, c.Value)
			s.a.mu.Unlock()
		}
	}
}

func (s *seat) get(path string) answer {
	r := s.a.do(ask{method: "GET", path: path, from: s.from, head: map[string]string{"Cookie": s.cookie}})
	s.keep(r)
	return r
}

func (s *seat) post(path string, form url.Values) answer {
	r := s.a.do(ask{method: "POST", path: path, from: s.from, kind: "application/x-www-form-urlencoded", body: []byte(form.Encode()),
		head: map[string]string{"Cookie": s.cookie, "Sec-Fetch-Site": "same-origin", "Origin": s.a.t.base}})
	s.keep(r)
	return r
}

var patientLink = regexp.MustCompile(`href="/clinic/patients/([A-Za-z0-9_-]{22})`)

// patients are the ids of those whom the person can see on the lists.
func (s *seat) patients() (ids []string) {
	seen := map[string]bool{}
	for _, find := range []string{"", "?find=Spare", "?all=1"} {
		for _, m := range patientLink.FindAllStringSubmatch(string(s.get("/clinic/"+find).body), -1) {
			if !seen[m[1]] {
				seen[m[1]] = true
				ids = append(ids, m[1])
			}
		}
	}
	return ids
}

var (
	formTag   = regexp.MustCompile(`(?s)<form([^>]*)>(.*?)</form>`)
	inputTag  = regexp.MustCompile(`(?s)<input([^>]*)>`)
	areaTag   = regexp.MustCompile(`(?s)<textarea([^>]*)>(.*?)</textarea>`)
	selectTag = regexp.MustCompile(`(?s)<select([^>]*)>(.*?)</select>`)
	optionTag = regexp.MustCompile(`(?s)<option([^>]*)>`)
	attribute = regexp.MustCompile(`([a-z-]+)(?:="([^"]*)")?`)
)

func attributes(text string) map[string]string {
	out := map[string]string{}
	for _, m := range attribute.FindAllStringSubmatch(text, -1) {
		out[m[1]] = html.UnescapeString(m[2])
	}
	return out
}

// form is the form of a page that has a field of that name, as a browser would send it.
func (r answer) form(field string) (url.Values, error) {
	for _, m := range formTag.FindAllStringSubmatch(string(r.body), -1) {
		if !strings.Contains(m[2], `name="`+field+`"`) {
			continue
		}
		v := url.Values{}
		for _, f := range inputTag.FindAllStringSubmatch(m[2], -1) {
			at := attributes(f[1])
			_, checked := at["checked"]
			if box := at["type"] == "checkbox" || at["type"] == "radio"; at["name"] != "" && at["type"] != "submit" && (!box || checked) {
				v.Add(at["name"], at["value"])
			}
		}
		for _, f := range areaTag.FindAllStringSubmatch(m[2], -1) {
			v.Add(attributes(f[1])["name"], html.UnescapeString(f[2]))
		}
		for _, f := range selectTag.FindAllStringSubmatch(m[2], -1) {
			name, value, first := attributes(f[1])["name"], "", true
			for _, o := range optionTag.FindAllStringSubmatch(f[2], -1) {
				at := attributes(o[1])
				_, selected := at["selected"]
				if first || selected {
					value, first = at["value"], false
				}
			}
			v.Add(name, value)
		}
		return v, nil
	}
	return nil, errors.New("no form with " + field + " on the page")
}
