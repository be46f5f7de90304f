package ingest

import (
	"errors"
	"math"
	"testing"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"

	"trueplait/model"
)

// Factors of NIST SP 811 (2008), Appendix B.8, in grams and millimetres.
const (
	nistOunce = 28.349523125
	nistPound = 453.59237
	nistGrain = 0.06479891
	nistInch  = 25.4
	nistFoot  = 304.8
)

func TestParseMass(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{
		{"412 g", 412},
		{"412g", 412},
		{"  412 g  ", 412},
		{"412 G", 412},
		{"412 grams", 412},
		{"412 g.", 412},
		{"0.5 g", 0.5},
		{".5 g", 0.5},
		{"5. g", 5},
		{"007 g", 7},
		{"1e-05 g", 1e-5},
		{"1e3 g", 1000},
		{"1.5E+2 g", 150},
		{"0.412 kg", 412},
		{"1 kilogram", 1000},
		{"1 oz", nistOunce},
		{"14.5 oz", 14.5 * nistOunce},
		{"14 1/2 oz", 14.5 * nistOunce},
		{"14 1/2oz.", 14.5 * nistOunce},
		{"14½ Ounces", 14.5 * nistOunce},
		{"1/2 oz", nistOunce / 2},
		{"3/2 oz", 1.5 * nistOunce},
		{"1 lb", nistPound},
		{"1.25 lbs", 1.25 * nistPound},
		{"2 pounds", 2 * nistPound},
		{"1 lb 3 1/2 oz", nistPound + 3.5*nistOunce},
		{"1lb3oz", nistPound + 3*nistOunce},
		{"1 lb. 3 oz.", nistPound + 3*nistOunce},
		{"1 lb 1/2 oz", nistPound + nistOunce/2},
		{"0 lb 3 oz", 3 * nistOunce},
		{"1 lb 15 15/16 oz", nistPound + 15.9375*nistOunce},
		{"20 oz", 20 * nistOunce},
		{"1 grain", nistGrain},
		{"6700 grains", 6700 * nistGrain},
		{"7000 grain", nistPound},
	} {
		got, err := ParseMass(c.text, DecimalAuto)
		if err != nil || !near(got, c.want) {
			t.Errorf("ParseMass(%q) = %v, %v, want %v", c.text, got, err, c.want)
		}
	}
}

func TestParseLength(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{
		{"300 mm", 300},
		{"30 cm", 300},
		{"126.8 cm", 1268},
		{"1.268 m", 1268},
		{"3 metres", 3000},
		{"3 meters", 3000},
		{"1 in", nistInch},
		{"10 inches", 10 * nistInch},
		{`8 1/2"`, 8.5 * nistInch},
		{`8-1/2"`, 8.5 * nistInch},
		{`8–1/2"`, 8.5 * nistInch},
		{"8½ in", 8.5 * nistInch},
		{"8 ½ in", 8.5 * nistInch},
		{"8-½ in", 8.5 * nistInch},
		{"8 1⁄2 in", 8.5 * nistInch},
		{"½ in", nistInch / 2},
		{"5/16 in", 5. / 16 * nistInch},
		{"1/3 in", nistInch / 3},
		{"⅔ in", 2 * nistInch / 3},
		{"8\u00a01/2\u2009in", 8.5 * nistInch},
		{`71-1/4"`, 71.25 * nistInch},
		{"6 ft", 6 * nistFoot},
		{"6'", 6 * nistFoot},
		{"6.5 ft", 6.5 * nistFoot},
		{"6 1/2 ft", 6.5 * nistFoot},
		{`6' 2"`, 74 * nistInch},
		{`6'2"`, 74 * nistInch},
		{"6 ft 2 in", 74 * nistInch},
		{"6ft2in", 74 * nistInch},
		{"6 FT. 2 IN.", 74 * nistInch},
		{"6 feet 2 inches", 74 * nistInch},
		{`6' 1 3/4"`, 73.75 * nistInch},
		{`6' 1-3/4"`, 73.75 * nistInch},
		{`6' 1¾"`, 73.75 * nistInch},
		{`6' 2.5"`, 74.5 * nistInch},
		{`0' 10"`, 10 * nistInch},
		{`4' 1/2"`, 48.5 * nistInch},
		{`4' ½"`, 48.5 * nistInch},
		{"6′ 2″", 74 * nistInch},
		{"6’ 2”", 74 * nistInch},
		{"6' 2''", 74 * nistInch},
		{"6’ 2’’", 74 * nistInch},
		{"6′ 2′′", 74 * nistInch},
		{"10''", 10 * nistInch},
		{`126-7/8"`, 126.875 * nistInch},
	} {
		got, err := ParseLength(c.text, DecimalAuto)
		if err != nil || !near(got, c.want) {
			t.Errorf("ParseLength(%q) = %v, %v, want %v", c.text, got, err, c.want)
		}
	}
}

// near allows the rounding of the last place, which the wanted values have as
// well.
func near(got, want float64) bool { return math.Abs(got-want) <= 4e-16*math.Abs(want) }

// TestOneLengthOneNumber: however a length is written down it is the same
// number, or a row entered again would seem to have changed.
func TestOneLengthOneNumber(t *testing.T) {
	for _, c := range []struct {
		want float64
		ways []string
	}{
		{1196.975, []string{`3' 11 1/8"`, `47 1/8"`, "47.125 in", "3 ft 11.125 in", "1196.975 mm"}},
		{1330.325, []string{`52-3/8"`, `4' 4⅜"`, "1330.325 mm"}},
		{2352.675, []string{`92-5/8"`, `7' 8 5/8"`}},
	} {
		for _, way := range c.ways {
			if got, err := ParseLength(way, DecimalAuto); err != nil || got != c.want {
				t.Errorf("ParseLength(%q) = %v, %v, want exactly %v", way, got, err, c.want)
			}
		}
	}
}

// TestOtherDimensions covers the units that only parts lists have.
func TestOtherDimensions(t *testing.T) {
	for _, c := range []struct {
		text          string
		base, assumed unit
		want          float64
	}{
		{"4.7 g/m", gramPerMetre, unit{}, 4.7},
		{"1 g/ft", gramPerMetre, unit{}, 1000 / nistFoot},
		{"0.05 oz/ft", gramPerMetre, unit{}, 0.05 * nistOunce * 1000 / nistFoot},
		{"0.05", gramPerMetre, ouncePerFoot, 0.05 * nistOunce * 1000 / nistFoot},
		{"11.1 g/cm³", gramPerCM3, unit{}, 11.1},
		{"11.1g/cm3", gramPerCM3, unit{}, 11.1},
		{"30°", degree, unit{}, 30},
		{"30 deg", degree, unit{}, 30},
		{"2 %", one, one, 0.02},
		{"0.02", one, one, 0.02},
		{"7 %", percent, percent, 7},
		{"7", percent, percent, 7},
		{"14.5 oz", gram, pound, 14.5 * nistOunce}, // the cell's unit wins
		{"14.5", gram, pound, 14.5 * nistPound},
		{`6' 2"`, millimetre, centimetre, 74 * nistInch},
		{"0", millimetre, inch, 0},
	} {
		var got float64
		err := (&amountCell{&got, c.base, notNegative}).read(c.text, c.assumed, DecimalAuto)
		if err != nil || !near(got, c.want) {
			t.Errorf("%q in %s, in a column in %q = %v, %v, want %v", c.text, c.base.symbol, c.assumed.symbol, got, err, c.want)
		}
	}
}

// TestUnits holds the whole numbers of the conversions against the constants
// of package model.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		unit unit
		want float64
	}{
		{ounce, model.GramsPerOunce}, {pound, model.GramsPerPound}, {grain, model.GramsPerGrain},
		{inch, model.MMPerInch}, {foot, model.MMPerFoot},
		{gramPerFoot, 1000 / model.MMPerFoot}, {ouncePerFoot, 1000 * model.GramsPerOunce / model.MMPerFoot},
	} {
		if got := c.unit.over / c.unit.under; !near(got, c.want) {
			t.Errorf("1 %s = %v, want %v", c.unit.symbol, got, c.want)
		}
	}
}

func TestRefusedQuantities(t *testing.T) {
	const (
		notANumber = "is not a number: write it like 412, 14.5 or 8 1/2"
		twoWays    = `could be read in two ways: write one number, like 1234.5 or 8 1/2, or 6' 2" or 1 lb 3 oz`
		zero       = "is zero: leave it blank if it is not known"
		negative   = "is negative: leave it blank if it is not known"
		twoMarks   = "has more than one mark: write thousands without any, like 1234.5"
		comma      = "has a comma: write decimals with a point and thousands without a mark, or say --decimal comma"
	)
	for _, c := range []struct {
		text  string
		base  unit
		about error
		want  string
	}{
		{"412", gram, ErrUnit, `has no unit: write "412 g" or "412 oz"`},
		{"8 1/2", millimetre, ErrUnit, `has no unit: write "8 1/2 mm" or "8 1/2 in"`},
		{"30", degree, ErrUnit, `has no unit: write "30 deg"`},
		{"15 gr", gram, ErrUnit, `is in "gr", which may be grams or grains: write g or grain`},
		{"15 GR", gram, ErrUnit, `is in "GR", which may be grams or grains: write g or grain`},
		{"412 mm", gram, ErrUnit, "is in mm, a unit of length: a mass takes g, kg, oz, lb or grain"},
		{"412 g", millimetre, ErrUnit, "is in g, a unit of mass: a length takes mm, cm, m, in or ft"},
		{"412 g/m", gram, ErrUnit, "is in g/m, a unit of mass per length: a mass takes g, kg, oz, lb or grain"},
		{"412 stone", gram, ErrUnit, `is in "stone", which is no unit known: a mass takes g, kg, oz, lb or grain`},
		{"45 g", percent, ErrUnit, "is in g, a unit of mass: this is a plain number or %"},
		{"6'2", millimetre, ErrUnit, `has no inch mark: write 6'2"`},
		{"6' 2 1/2", millimetre, ErrUnit, `has no inch mark: write 6' 2 1/2"`},
		{"6 ft 2", millimetre, ErrUnit, `has no inch mark: write 6 ft 2"`},
		{"1 lb 3", gram, ErrUnit, "has no unit at the end: write 1 lb 3 oz"},
		{"6 ft 2 cm", millimetre, ErrUnit, "mixes ft with cm: write one number and one unit"},
		{"1 lb 3 g", gram, ErrUnit, "mixes lb with g: write one number and one unit"},

		{"", gram, ErrNumber, notANumber},
		{"g", gram, ErrNumber, notANumber},
		{"-", gram, ErrNumber, notANumber},
		{"about 14 oz", gram, ErrNumber, notANumber},
		{"NaN", gram, ErrNumber, notANumber},
		{"Inf g", gram, ErrNumber, notANumber},
		{"+5 g", gram, ErrNumber, notANumber},
		{". g", gram, ErrNumber, notANumber},
		{"=5 g", gram, ErrNumber, notANumber},
		{"\u202e5 g", gram, ErrNumber, notANumber},
		{"٥ g", gram, ErrNumber, notANumber},
		{"0x1F g", gram, ErrNumber, "is not a decimal number: write it like 412, 14.5 or 8 1/2"},
		{"14 oz approx", gram, ErrNumber, `goes on with "approx" after the amount: put remarks into the note`},
		{"14 oz (about)", gram, ErrNumber, `goes on with "(about)" after the amount: put remarks into the note`},
		{"1,234 g", gram, ErrNumber, comma},
		{"14,5 oz", gram, ErrNumber, comma},
		{"1,234.5 g", gram, ErrNumber, twoMarks},
		{"1.234.567 g", gram, ErrNumber, twoMarks},
		{"1 234 g", gram, ErrNumber, twoWays},
		{"1_234 g", gram, ErrNumber, twoWays},
		{"1/2/3 in", millimetre, ErrNumber, twoWays},
		{"8 1/2 1/4 in", millimetre, ErrNumber, twoWays},
		{"8.5 1/2 in", millimetre, ErrNumber, twoWays},
		{"1.5/2 in", millimetre, ErrNumber, twoWays},
		{"8-10 in", millimetre, ErrNumber, twoWays},
		{"8--1/2 in", millimetre, ErrNumber, twoWays},
		{`6'-2"`, millimetre, ErrNumber, twoWays},
		{`6' -2"`, millimetre, ErrNumber, twoWays},
		{`6' 2" 1/2`, millimetre, ErrNumber, twoWays},
		{`6' 2" 3"`, millimetre, ErrNumber, twoWays},
		{`2" 6'`, millimetre, ErrNumber, twoWays},
		{"1 kg 200 g", gram, ErrNumber, twoWays},
		{"8 9/8 in", millimetre, ErrNumber, "has a fraction that is not below 1: write it like 8 1/2"},
		{"8 2/2 in", millimetre, ErrNumber, "has a fraction that is not below 1: write it like 8 1/2"},
		{"8 1/0 in", millimetre, ErrNumber, "has a fraction that is not below 1: write it like 8 1/2"},
		{"1/0 in", millimetre, ErrNumber, "divides by zero"},
		{`6' 12"`, millimetre, ErrNumber, "has 12 in, which is a whole ft or more: check it"},
		{"1 lb 16 oz", gram, ErrNumber, "has 16 oz, which is a whole lb or more: check it"},
		{"6.5 ft 2 in", millimetre, ErrNumber, "has a fraction of a ft and in as well: write one of them"},
		{"1 1/2 lb 3 oz", gram, ErrNumber, "has a fraction of a lb and oz as well: write one of them"},

		{"-5 g", gram, ErrRange, negative},
		{"−5 g", gram, ErrRange, negative},
		{"- 5 g", gram, ErrRange, negative},
		{"-1/2 in", millimetre, ErrRange, negative},
		{"0 g", gram, ErrRange, zero},
		{`0' 0"`, millimetre, ErrRange, zero},
		{"0/4 in", millimetre, ErrRange, zero},
		{"1e-400 g", gram, ErrRange, zero},
		{"1e400 g", gram, ErrRange, "is too large"},
		{"1e308 kg", gram, ErrRange, "is too large: check it"},
		{"1000001 kg", gram, ErrRange, "is over 1000000000 g: check it"},
		{"1e21 mm", millimetre, ErrRange, "is over 1000000000 mm: check it"},
		{"9e-7 g", gram, ErrRange, "is below 0.000001 g: check it"},
	} {
		_, err := parseSingle(c.text, DecimalAuto, c.base)
		if want := quote(c.text) + " " + c.want; err == nil || err.Error() != want || !errors.Is(err, c.about) {
			t.Errorf("parsing %q in %s:\n got %v\nwant %v (%v)", c.text, c.base.symbol, err, want, c.about)
		}
	}
}

func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		text string
		dec  Decimal
		want float64 // 0: refused
	}{
		{"14.5 oz", DecimalPoint, 14.5},
		{"14,5 oz", DecimalPoint, 0},
		{"1.234 oz", DecimalPoint, 1.234},
		{"14,5 oz", DecimalComma, 14.5},
		{"14.5 oz", DecimalComma, 0},
		{"1,234 oz", DecimalComma, 1.234},
		{"1.234,5 oz", DecimalComma, 0},
		{"14,5 oz", decimalEither, 14.5},
		{"14.5 oz", decimalEither, 14.5},
		{"1,234 oz", decimalEither, 0},
		{"1.234 oz", decimalEither, 0},
		{"0,125 oz", decimalEither, 0},
		{"1,2345 oz", decimalEither, 1.2345},
		{"1234 oz", decimalEither, 1234},
		{"1.234,5 oz", decimalEither, 0},
		{",5 oz", decimalEither, 0.5},
	} {
		got, err := ParseMass(c.text, c.dec)
		if (err == nil) != (c.want > 0) || !near(got, c.want*nistOunce) {
			t.Errorf("ParseMass(%q, %v) = %v, %v, want %v oz", c.text, c.dec, got, err, c.want)
		}
		if err != nil && !errors.Is(err, ErrNumber) {
			t.Errorf("ParseMass(%q, %v): %v is not about ErrNumber", c.text, c.dec, err)
		}
	}
	_, err := ParseMass("1.234 oz", decimalEither)
	if want := `"1.234 oz" may be 1234 or 1.234: say which with --decimal comma or --decimal point`; err == nil || err.Error() != want {
		t.Errorf("got %v, want %v", err, want)
	}
}

// TestFractionsAreExact compares every fraction of a tape measure, in all its
// spellings, with its decimal.
func TestFractionsAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		inches := rapid.IntRange(0, 400).Draw(t, "inches")
		under := 1 << rapid.IntRange(1, 6).Draw(t, "power")
		over := rapid.IntRange(1, under-1).Draw(t, "over")
		want := (float64(inches) + float64(over)/float64(under)) * 254 / 10
		fraction := formatNumber(float64(over)) + "/" + formatNumber(float64(under))
		whole := formatNumber(float64(inches))
		feet, rest := formatNumber(float64(inches/12)), formatNumber(float64(inches%12))
		for _, text := range []string{
			whole + " " + fraction + " in",
			whole + "-" + fraction + `"`,
			feet + "' " + rest + " " + fraction + `"`,
			feet + " ft " + rest + "-" + fraction + " inches",
		} {
			if got, err := ParseLength(text, DecimalAuto); err != nil || got != want {
				t.Fatalf("ParseLength(%q) = %v, %v, want %v", text, got, err, want)
			}
		}
	})
}

// TestFractionCharacters compares each with what Unicode says it stands for.
func TestFractionCharacters(t *testing.T) {
	for _, r := range "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒" {
		spelt := norm.NFKC.String(string(r)) // 1⁄2
		want, err := ParseLength(spelt+" in", DecimalAuto)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := ParseLength(string(r)+" in", DecimalAuto); err != nil || got != want {
			t.Errorf("ParseLength(%c in) = %v, %v, want %v as for %s", r, got, err, want, spelt)
		}
	}
}

// FuzzQuantity parses, prints and parses again.
func FuzzQuantity(f *testing.F) {
	for _, seed := range []string{"412", "14.5 oz", "1 lb 3 1/2 oz", "8 1/2", `8-1/2"`, "8½ in", `6' 2"`, "6 ft 2 in", "6’ 2”", "1e-05 kg", "1,5", "0x1F", "30°", "0.05 oz/ft", "11 g/cm³", "2 %"} {
		for dec := DecimalAuto; dec <= decimalEither; dec++ {
			f.Add(seed, int(dec))
		}
	}
	f.Fuzz(func(t *testing.T, text string, dec int) {
		if dec < int(DecimalAuto) || dec > int(decimalEither) {
			t.Skip()
		}
		for _, base := range []unit{gram, millimetre, gramPerMetre, gramPerCM3, degree, one, percent} {
			value := math.NaN()
			cell := &amountCell{&value, base, notNegative}
			if err := cell.read(text, base, Decimal(dec)); err != nil {
				if err.Error() == "" || errors.Unwrap(err) == nil || model.Known(value) {
					t.Fatalf("reading %q: error %#v, value %v", text, err, value)
				}
				continue
			}
			if !(value >= 0) || math.IsInf(value, 0) {
				t.Fatalf("reading %q gave %v", text, value)
			}
			first, printed := value, cell.write()
			if err := cell.read(printed, base, DecimalPoint); err != nil || value != first {
				t.Fatalf("reading %q gave %v, printed %q, read again %v, %v", text, first, printed, value, err)
			}
		}
	})
}
