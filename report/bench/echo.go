package bench

import (
	"encoding/json"
	"errors"
	"net/http"
	"unicode/utf8"

	"trueplait/model"
	"trueplait/report"
)

// echo answers what an amount was understood to mean, for a script that says so
// while it is typed: {"text":"411 g (14 1/2 oz)"} or {"problem":"…"}.
func (v *visit) echo() error {
	column, text := v.value("column"), v.value("text")
	var answer struct {
		Text    string `json:"text,omitempty"`
		Problem string `json:"problem,omitempty"`
	}
	switch {
	case text == "":
	case utf8.RuneCountInString(text) > maxTyped:
		answer.Problem = "is too long"
	default:
		understood, err := v.understood(column, text)
		if answer.Text = understood; err != nil {
			answer.Problem = problemWith(column, err)
		}
	}
	v.w.Header().Set("Content-Type", "application/json")
	v.w.Header().Set("X-Content-Type-Options", "nosniff")
	v.w.WriteHeader(http.StatusOK)
	return json.NewEncoder(v.w).Encode(answer)
}

// understood is what an amount means, in the units of who is at the bench.
func (v *visit) understood(column, text string) (string, error) {
	switch column {
	case "target_weight", "within", "around": // asked about, no column of a row
		column = "weight"
	}
	value, of, err := v.shop.Understand(column, text)
	if err != nil {
		return "", err
	}
	return report.Amount(value, of, v.units), nil
}

// problemWith is what is wrong with one column.
func problemWith(column string, err error) string {
	var refused *model.Refused
	if errors.As(err, &refused) && refused.About(column) != "" {
		return refused.About(column)
	}
	return err.Error()
}

// echoes says beside every amount of a form how it is understood.
func (v *visit) echoes(f *form) {
	for _, field := range f.fields() {
		if field.Type != amountField || field.Value == "" || field.Problem != "" {
			continue
		}
		if text, err := v.understood(field.Name, field.Value); err == nil {
			field.Echo = text
		}
	}
}
