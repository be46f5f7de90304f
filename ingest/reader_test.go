package ingest

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"trueplait/model"
)

// lines reads a file to its end and returns what it was found to hold, one
// line for a row, a problem or a warning.
func lines(t testing.TB, file string, opt Options) []string {
	t.Helper()
	r, err := NewReader(strings.NewReader(file), "x.csv", opt)
	if err != nil {
		return strings.Split(err.Error(), "\n")
	}
	var out []string
	for {
		row, problems, err := r.Read()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if (row == nil) != (len(problems) > 0) {
			t.Fatalf("Read() = %v with problems %v", row, problems)
		}
		if row != nil {
			out = append(out, fmt.Sprintf("%d %s", row.From().Line, row.Key()))
		}
		for _, p := range append(problems, r.Warnings()...) {
			out = append(out, p.Error())
		}
	}
}

const (
	buildHeader = "build,date,maker,product,predicted_weight,predicted_shot,weight,length,shot_used,note\n"
	goodBuild   = `B1,2024-03-31,dita,bull,450 g,100 g,412 g,"6' 2""",98 g,` + "\n"
)

func TestRead(t *testing.T) {
	today := time.Date(2024, 4, 1, 18, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name, file string
		want       []string
	}{
		{"a good row", buildHeader + goodBuild, []string{"2 B1"}},
		{"no rows", buildHeader, nil},
		{"no line end", strings.TrimSuffix(buildHeader+goodBuild, "\n"), []string{"2 B1"}},
		{"Windows line ends", strings.ReplaceAll(buildHeader+goodBuild, "\n", "\r\n"), []string{"2 B1"}},
		{"BOM", "\ufeff" + buildHeader + goodBuild, []string{"2 B1"}},
		{"semicolons", "build;date;maker;product;weight\nB1;2024-03-31;dita;bull;412,5 g\n", []string{"2 B1"}},
		{"tabs", "build\tdate\tmaker\tproduct\tweight\nB1\t2024-03-31\tdita\tbull\t412,5 g\n", []string{"2 B1"}},
		{"empty cells between tabs", "build\tdate\tmaker\tproduct\tcore_batch\tweight\nB1\t2024-03-31\tdita\tbull\t\t412 g\n", []string{"2 B1"}},
		{"semicolons in quotes", `build,"date;;;;;;;",maker,product,weight` + "\n", []string{
			`x.csv:1: "date;;;;;;;" is not a column of builds; the nearest is "date": rename it, delete it or say --ignore-unknown`,
			`x.csv:1: the column "date" is missing: builds need it`}},
		{"blank after the comma", `build,date,maker,product, length` + "\n" + `B1,2024-03-31,dita,bull, "6' 2"""` + "\n", []string{"2 B1"}},
		{"rows of commas only", buildHeader + ",,,,,,,,,\n" + goodBuild + ", ,,,,,,,,\n", []string{"3 B1"}},

		{"lines after a quoted newline", buildHeader + "B1,2024-03-31,dita,bull,,,412 g,,,\"one\ntwo\"\n\n\nB2,2024-03-31,dita,bull,,,x,,,\n", []string{
			"2 B1",
			`x.csv:6: weight: "x" is not a number: write it like 412, 14.5 or 8 1/2`}},
		{"line of the cell, not of the record", "build,note,date,maker,product,weight\nB1,\"one\ntwo\",2024-13-31,dita,bull,412 g\n", []string{
			`x.csv:3: date: "2024-13-31" is not a date: write it like 2024-03-31`}},
		{"several in a row", buildHeader + "B1,31.3.2024,new,,450,-1 g,0 g,5 kg,6'2,\n" + goodBuild, []string{
			`x.csv:2: date: "31.3.2024" is not a date: write it like 2024-03-31`,
			`x.csv:2: maker: "new" is a reserved word: use another label`,
			`x.csv:2: predicted_weight: "450" has no unit: write "450 g" or "450 oz", or name the unit in the header`,
			`x.csv:2: predicted_shot: "-1 g" is negative: leave it blank if it is not known`,
			`x.csv:2: weight: "0 g" is zero: leave it blank if it is not known`,
			`x.csv:2: length: "5 kg" is in kg, a unit of mass: a length takes mm, cm, m, in or ft`,
			`x.csv:2: shot_used: "6'2" is in ', a unit of length: a mass takes g, kg, oz, lb or grain`,
			`x.csv:2: product: "" is blank: builds need it`,
			"3 B1"}},
		{"invisible characters", buildHeader + "B\u202e1,2024-03-31,di\x00ta,bu\tll,,,412\x1b g,,,\xff\n", []string{
			`x.csv:2: build: "B\u202e1" holds the invisible character U+202E: delete it`,
			`x.csv:2: maker: "di\x00ta" holds the invisible character U+0000: delete it`,
			`x.csv:2: product: "bu\tll" holds a line break or tab: keep it on one line`,
			`x.csv:2: weight: "412\x1b g" could be read in two ways: write one number, like 1234.5 or 8 1/2, or 6' 2" or 1 lb 3 oz`,
			`x.csv:2: note: "\xff" is not UTF-8: save the file as "CSV UTF-8"`}},
		{"nothing measured", buildHeader + "B1,2024-03-31,dita,bull,450 g,100 g,,,,\n", []string{
			"x.csv:2: weight, length and shot_used are all blank: a build needs one of them"}},
		{"a bad measurement is not a missing one", buildHeader + "B1,2024-03-31,dita,bull,450 g,100 g,412,,,\n", []string{
			`x.csv:2: weight: "412" has no unit: write "412 g" or "412 oz", or name the unit in the header`}},
		{"predicted weight below shot", buildHeader + "B1,2024-03-31,dita,bull,100 g,100 g,412 g,,,\n", []string{
			`x.csv:2: predicted_weight: "100 g" is 100 g, not above predicted_shot, 100 g: check both and their units`}},
		{"strand left", "build,date,maker,product,weight_g,strand_cut,strand_left\nB1,2024-03-31,d,b,412,3 m,0 mm\nB2,2024-03-31,d,b,412,3 m,3 m\nB3,2024-03-31,d,b,412,,3 m\n", []string{
			"2 B1",
			`x.csv:3: strand_left: "3 m" is 3000 mm, not below strand_cut, 3000 mm: check both and their units`,
			"4 B3"}},
		{"warnings", buildHeader + "B1,2024-04-01,dita,bull,,,412 g,,412 g,\nB2,2024-04-02,dita,bull,,,412 g,,,\nB3,2024-04-02,dita,,,,412 g,,,\n", []string{
			"2 B1",
			`x.csv:2: weight: "412 g" is 412 g, not above shot_used, 412 g: the build is kept, its body is left out of fits`,
			"3 B2",
			`x.csv:3: date: "2024-04-02" is after today, 2024-04-01: check it`,
			`x.csv:4: product: "" is blank: builds need it`}},
		{"plain numbers", "build,date,maker,product,weight_g,calibration,shot_factor,humidity\n" +
			"B1,2024-03-31,d,b,412,7,1.03,45 %\nB2,2024-03-31,d,b,412,1.0,0,101\nB3,2024-03-31,d,b,412,0,-1,0\nB4,2024-03-31,d,b,412,99999999999,x,\n", []string{
			"2 B1",
			`x.csv:3: calibration: "1.0" is not a whole number from 1 on`,
			`x.csv:3: shot_factor: "0" is zero: leave it blank if it is not known`,
			`x.csv:3: humidity: "101" is over 100 %: check it`,
			`x.csv:4: calibration: "0" is zero: leave it blank if there is none`,
			`x.csv:4: shot_factor: "-1" is negative: leave it blank if it is not known`,
			`x.csv:5: calibration: "99999999999" is over 2147483647: check it`,
			`x.csv:5: shot_factor: "x" is not a number: write it like 412, 14.5 or 8 1/2`}},
		{"dates", "fill,date,core_batch,filled_length_mm,shot_mass_g\nF1,2024-02-29,C1,254,20\nF2,2023-02-29,C1,254,20\nF3,2024-2-9,C1,254,20\nF4,0024-02-09,C1,254,20\nF5,2024-02-09T10:00,C1,254,20\n", []string{
			"2 F1",
			`x.csv:3: date: "2023-02-29" is not a date: write it like 2024-03-31`,
			`x.csv:4: date: "2024-2-9" is not a date: write it like 2024-03-31`,
			`x.csv:5: date: "0024-02-09" is before 1900: check the year`,
			`x.csv:6: date: "2024-02-09T10:00" is not a date: write it like 2024-03-31`}},
		{"fills", "fill,date,core_batch,filled_length,shot_mass\nF1,2024-03-31,C1,10 in,\n", []string{
			`x.csv:2: shot_mass: "" is blank: fills need it`}},
		{"checks", "check,date,strand_batch,checked_length,checked_mass\nK1,2024-03-31,N1,10 m,47 g\nK2,2024-03-31,(check),10 m,47 g\n", []string{
			"2 K1",
			`x.csv:3: strand_batch: "(check)" is a reserved word: use another label`}},
		{"products", "product,weight_low,weight_high,length_low,length_high\nbull,400 g,420 g,6 ft,\nbull,1 lb,420 g,6 ft,5 ft\n", []string{
			"2 bull",
			`x.csv:3: weight_low: "1 lb" is over weight_high: check both and their units`,
			`x.csv:3: length_low: "6 ft" is over length_high: check both and their units`}},
		{"parts", "product,part,role,start_mm,tail_mm,drop_angle,count,fraction\nbull,belly,Plait,0,0,30°,,\nbull,wax,finish,,,91 deg,0,2\nbull,x,tassel,-1,,,1.5,\nbull,,core,,,30,,\n", []string{
			"2 bull",
			`x.csv:3: drop_angle: "91 deg" is over 90 deg: check it`,
			`x.csv:3: count: "0" is zero: leave it blank if there is none`,
			`x.csv:3: fraction: "2" is over 1: check it`,
			`x.csv:4: role: "tassel" is not a role: use rod, core, plait, wrap, fall, cracker, knot, finish, other`,
			`x.csv:4: start: "-1" is negative: leave it blank if it is not known`,
			`x.csv:4: count: "1.5" is not a whole number from 1 on`,
			`x.csv:5: drop_angle: "30" has no unit: write "30 deg", or name the unit in the header`,
			`x.csv:5: part: "" is blank: parts need it`}},
		{"thousands among semicolons", "build;date;maker;product;weight_g\nB1;2024-03-31;d;b;1.234\n", []string{
			`x.csv:2: weight: "1.234" may be 1234 or 1.234: say which with --decimal comma or --decimal point`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := strings.Join(lines(t, c.file, Options{Today: today}), "\n")
			if want := strings.Join(c.want, "\n"); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}

func TestMalformed(t *testing.T) {
	const header = "build,date,maker,product,length,weight\n"
	const good = "B2,2024-03-31,dita,bull,6 ft,412 g\n"
	for _, c := range []struct {
		name, file string
		want       []string
	}{
		{"bare inch mark", header + `B1,2024-03-31,dita,bull, 6' 2",412 g` + "\n" + good, []string{
			`x.csv:2: length: "6' 2"" has a quote inside a cell without quotes: write the cell as "6' 2"""`,
			"3 B2"}},
		{"bare inch mark after a quoted line break", header + "\n\"B\n1\",2024-03-31,dita,bull,8\",412 g\n" + good, []string{
			`x.csv:4: length: "8"" has a quote inside a cell without quotes: write the cell as "8"""`,
			"5 B2"}},
		{"text behind the quote", header + `B1,2024-03-31,dita,bull,"6' 2"" or so" about,412 g` + "\n" + good, []string{
			`x.csv:2: length: ""6' 2"" or so" about" goes on after its closing quote: write the cell as "6' 2"" or so"" about"`,
			"3 B2"}},
		{"too many cells", header + "B1,2024-03-31,dita,bull,6 ft,1,234 g\n" + good, []string{
			"x.csv:2: the row has 7 cells where the header has 6 cells: a cell with the separator or a line break in it needs quotes",
			"3 B2"}},
		{"too few cells", header + "\n\nB1\r\n" + good, []string{
			"x.csv:4: the row has 1 cell where the header has 6 cells: a cell with the separator or a line break in it needs quotes",
			"5 B2"}},
		{"quote closed by a later row", header + `B1,2024-03-31,dita,bull,"6' 2"",412 g` + "\n" + `B2,2024-03-31,dita,bull,"6' 2""",412 g` + "\n" + good, []string{
			`x.csv:2: length: ""6' 2"",412 g\nB2,2024-03-31,dita,bull,"6' 2"""" opens a quote that is closed only on a later line: close it in its cell, and write a quote inside the cell twice`,
			"4 B2"}},
		{"quote never closed", header + "B1,2024-03-31,dita,bull,\"6 ft,412 g\n" + good, []string{
			`x.csv:2: length: ""6 ft,412 g\nB2,2024-03-31,dita,bull,6 ft,412 g" opens a quote that is never closed: close it, and write a quote inside the cell twice`}},
		{"not fit to be repeated", header + "B1,2024-03-31,dita\u202e\",bull,6 ft,412 g\n" + good, []string{
			`x.csv:2: maker: "dita\u202e"" has a quote inside a cell without quotes: write the cell as "6' 2"""`,
			"3 B2"}},
		{"among tabs", "build\tdate\tmaker\tproduct\tlength\nB1\t2024-03-31\t\tbull\t6' 2\"\n", []string{
			`x.csv:2: length: "6' 2"" has a quote inside a cell without quotes: write the cell as "6' 2"""`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := strings.Join(lines(t, c.file, Options{}), "\n")
			if want := strings.Join(c.want, "\n"); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}

func TestNotCSV(t *testing.T) {
	utf16 := func(text string) string {
		var b strings.Builder
		for _, r := range text {
			b.WriteByte(byte(r))
			b.WriteByte(0)
		}
		return b.String()
	}
	for _, c := range []struct{ name, file, want string }{
		{"empty", "", "x.csv:1: the file is empty: its first line must name the columns"},
		{"blank lines", "\n\r\n\n", "x.csv:1: the file is empty: its first line must name the columns"},
		{"only a BOM", "\ufeff", "x.csv:1: the file is empty: its first line must name the columns"},
		{"UTF-16 with a mark", "\xff\xfe" + utf16("build,date\n"), `x.csv:1: the file is UTF-16: save it as "CSV UTF-8"`},
		{"UTF-16 big-endian", "\xfe\xff\x00b", `x.csv:1: the file is UTF-16: save it as "CSV UTF-8"`},
		{"UTF-16 without a mark", utf16("build,date\n"), `x.csv:1: the file is UTF-16: save it as "CSV UTF-8"`},
		{"old Mac", "build,date\rB1,2024-03-31\r", `x.csv:1: lines end in CR alone, as on old Macs: save the file as "CSV UTF-8"`},
		{"spreadsheet", "PK\x03\x04rest", `x.csv:1: the file is a spreadsheet, not CSV: save the sheet as "CSV UTF-8"`},
		{"endless header", `"` + strings.Repeat("x", 3*maxRecord), "x.csv:1: the row is longer than 1024 kB and the file is read no further: look for a quote that is never closed"},
	} {
		_, err := NewReader(strings.NewReader(c.file), "x.csv", Options{})
		var problems Problems
		if !errors.As(err, &problems) || err.Error() != c.want {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
}

func TestReadErrors(t *testing.T) {
	broken := errors.New("disk on fire")
	if _, err := NewReader(iotest.ErrReader(broken), "x.csv", Options{}); !errors.Is(err, broken) {
		t.Errorf("NewReader: got %v, want %v", err, broken)
	}
	// The header and some rows are past the first look at the file.
	file := buildHeader + strings.Repeat(goodBuild, 2000)
	r, err := NewReader(io.MultiReader(strings.NewReader(file), iotest.ErrReader(broken)), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for range 2000 {
		if _, problems, err := r.Read(); err != nil || problems != nil {
			t.Fatal(problems, err)
		}
	}
	if _, _, err := r.Read(); !errors.Is(err, broken) || !strings.HasPrefix(err.Error(), "x.csv: ") {
		t.Errorf("Read: got %v, want %v with the file's name", err, broken)
	}
}

// TestOneByteReads: what a row says does not depend on how its bytes arrive.
func TestOneByteReads(t *testing.T) {
	r, err := NewReader(iotest.OneByteReader(strings.NewReader(buildHeader+goodBuild)), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if row, problems, err := r.Read(); err != nil || problems != nil || row.Key() != "B1" {
		t.Errorf("Read() = %v, %v, %v", row, problems, err)
	}
}

func TestRowErrorUnwraps(t *testing.T) {
	r, err := NewReader(strings.NewReader(buildHeader+"B1,yesterday,dita,bull,450,,412 g,,,\n"), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	_, problems, _ := r.Read()
	if len(problems) != 2 || !errors.Is(problems[0], ErrDate) || !errors.Is(problems[1], ErrUnit) || errors.Is(problems[1], ErrDate) {
		t.Fatalf("got %v", problems)
	}
	if p := problems[1]; p.File != "x.csv" || p.Line != 2 || p.Start != 2 || p.Column != "predicted_weight" || p.Text != "450" {
		t.Errorf("got %+v", *p)
	}
}

func TestPartPositions(t *testing.T) {
	r, err := NewReader(strings.NewReader("product,part,role\nbull,handle,rod\nsnake,core,core\nbull,belly,plait\nbull,,plait\nbull,overlay,plait\n"), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for {
		row, _, err := r.Read()
		if err == io.EOF {
			break
		}
		if p, ok := row.(*model.Part); ok {
			got = append(got, fmt.Sprint(p.Product, " ", p.Position, " ", p.Name))
		}
	}
	if want := "bull 1 handle, snake 1 core, bull 2 belly, bull 3 overlay"; strings.Join(got, ", ") != want {
		t.Errorf("got %v, want %v", strings.Join(got, ", "), want)
	}
}

// TestConstantMemory reads far more than may be held, the end of it inside a
// quote that is never closed.
func TestConstantMemory(t *testing.T) {
	const rows = 200_000
	row := strings.Replace(goodBuild, "98 g,", "98 g,"+strings.Repeat("long note ", 20), 1)
	many := &repeated{text: row, times: rows}
	endless := &repeated{text: "x,\n", times: 1 << 40}
	r, err := NewReader(io.MultiReader(strings.NewReader(buildHeader), many, strings.NewReader(`"`), endless), "x.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	read, most := 0, uint64(0)
	for {
		row, problems, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if row == nil {
			want := fmt.Sprintf("x.csv:%d: the row is longer than 1024 kB and the file is read no further: look for a quote that is never closed", rows+2)
			if len(problems) != 1 || problems[0].Error() != want {
				t.Fatalf("got %v, want %v", problems, want)
			}
			continue
		}
		if read++; read%(rows/4) == 0 {
			runtime.GC()
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapAlloc)
		}
	}
	if read != rows {
		t.Errorf("read %d rows, want %d", read, rows)
	}
	if most > 20<<20 {
		t.Errorf("%d MB held while reading %d MB", most>>20, rows*len(row)>>20)
	}
}

// repeated reads as text so many times over.
type repeated struct {
	text  string
	times int
	rest  string
}

func (r *repeated) Read(p []byte) (int, error) {
	if r.rest == "" {
		if r.times == 0 {
			return 0, io.EOF
		}
		r.times--
		r.rest = r.text
	}
	n := copy(p, r.rest)
	r.rest = r.rest[n:]
	return n, nil
}
