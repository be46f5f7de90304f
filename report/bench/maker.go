package bench

import (
	"net/http"
	"net/url"
	"unicode/utf8"

	"trueplait/report"
)

// makerCookie remembers who is at the bench, in this browser.
const makerCookie = "maker"

// maxLabel is how many bytes of a maker's name a cookie holds.
const maxLabel = 200

// makerFrom is who is at the bench; "" where nobody said.
func makerFrom(r *http.Request) string {
	cookie, err := r.Cookie(makerCookie)
	if err != nil {
		return ""
	}
	name, err := url.QueryUnescape(cookie.Value)
	if err != nil || len(name) > maxLabel || !utf8.ValidString(name) {
		return ""
	}
	return name
}

// makerForm asks who is at the bench, and in which units they think.
func (v *visit) makerForm() *form {
	f := &form{Action: "/maker", Submit: "Remember it", Groups: []group{{Fields: v.ask("maker")}}}
	f.Groups[0].Fields[0].Hint = "It is offered on every form, on this phone or PC only."
	units := field{Name: "units", Label: "Units", Type: choiceField, Hint: "What figures are shown in. You can type any unit at any time.",
		Choices: []choice{{string(report.Both), "both: 411 g (14 1/2 oz)"}, {string(report.Metric), "g and mm only"}, {string(report.Imperial), "oz and inches only"}}}
	f.Groups[0].Fields = append(f.Groups[0].Fields, units)
	return f
}

// askMaker asks who is at the bench.
func (v *visit) askMaker() error {
	f := v.makerForm()
	f.offer(map[string]string{"maker": v.maker, "units": string(v.units)})
	return v.show(http.StatusOK, "maker", "Who is at the bench?", f)
}

// chooseMaker remembers who is at the bench, and in which units they think.
func (v *visit) chooseMaker() error {
	f := v.makerForm()
	f.read(v.r)
	name, units := f.text()["maker"], report.Units(f.text()["units"])
	field := &f.Groups[0].Fields[0]
	switch {
	case name == "":
		field.Problem = "is blank: who is at the bench?"
	case len(name) > maxLabel:
		field.Problem = "is too long to remember: use a shorter name"
	case units != report.Both && units != report.Metric && units != report.Imperial:
		f.Groups[0].Fields[1].Problem = "is not one of the choices"
	}
	if f.Wrong() > 0 {
		return v.show(http.StatusUnprocessableEntity, "maker", "Who is at the bench?", f)
	}
	if err := v.shop.SetUnits(v.r.Context(), name, units); err != nil {
		return err
	}
	http.SetCookie(v.w, &http.Cookie{
		Name: makerCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: 400 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: v.r.TLS != nil,
	})
	return v.redirect("/")
}
