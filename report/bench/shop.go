package bench

import (
	"context"
	"io"
	"time"

	"trueplait/calibrate"
	"trueplait/model"
	"trueplait/report"
)

// Shop is the workshop behind the page: its log, and what is fitted from it.
// Its methods may be called from several requests at once.
//
// Text is what was typed, by column, with the names and the rules of files.
// The error of text that cannot be taken is a *model.Refused.
type Shop interface {
	// Now is what is known at this moment. It is shared: nobody changes it.
	Now(ctx context.Context) (*Snapshot, error)

	// Understand reads one amount as the column of that name would. Its error
	// is for people.
	Understand(column, text string) (value float64, of model.Dimension, err error)

	// Read says what an entry means, without saving it.
	Read(ctx context.Context, e model.Entry) (*report.Reading, error)
	// Save saves an entry and fits the factors anew. When it returns without
	// an error, the row is on the disk.
	Save(ctx context.Context, e model.Entry) (*report.Saved, error)

	// Plan works out a plan from product, maker, core_batch, strand_batch,
	// shot_batch, target_weight and short_risk.
	Plan(ctx context.Context, text map[string]string) (*calibrate.Plan, error)
	// OpenBuild plans likewise and opens a build with the plan's figures; with
	// replace it takes the place of the open plan of that id.
	OpenBuild(ctx context.Context, id string, text map[string]string, replace bool) (*calibrate.Plan, error)
	// DropBuild drops an open plan.
	DropBuild(ctx context.Context, id string) error

	// Promise works out a promise from product, maker, batches, coverage, of,
	// within and around.
	Promise(ctx context.Context, text map[string]string) (*calibrate.Promise, error)
	// Lines judges one product, or with "" every product, as measured and
	// against the plan.
	Lines(ctx context.Context, product string) ([]calibrate.Line, error)

	// Search lists rows of a kind, newest first, that have every word of text
	// somewhere, and says how many there are.
	Search(ctx context.Context, kind model.Kind, text string, limit, offset int) ([]model.Row, int, error)
	// Row is one row with its history; nil if there is none of that id.
	Row(ctx context.Context, kind model.Kind, id string) (*Record, error)
	// SetAside keeps a build out of fits by hand, or with no reason lets it in
	// again.
	SetAside(ctx context.Context, build, reason string) (*report.Saved, error)

	// Check says what importing a file would do, row by row, and Import does it.
	Check(ctx context.Context, f File) (*FileReport, error)
	Import(ctx context.Context, f File) (*FileReport, error)
	// Export writes every CSV file of an export into one zip archive.
	Export(ctx context.Context, w io.Writer) error
	// Backup writes a copy of the whole log, a DuckDB file, as it is at one moment.
	Backup(ctx context.Context, w io.Writer) error

	// Report writes the whole report as one HTML page. It may take seconds.
	Report(ctx context.Context, w io.Writer) error

	// Split makes rows of a maker or batch dated from a day on a level of
	// their own, and Unsplit undoes it.
	Split(ctx context.Context, s model.Split) error
	Unsplit(ctx context.Context, s model.Split) error

	// SetUnits remembers in which units a maker is shown figures.
	SetUnits(ctx context.Context, maker string, u report.Units) error
}

// Snapshot is what is known at one moment.
type Snapshot struct {
	Version     int // changes with every write
	Today       time.Time
	Log         string // path of the log, or its address without password
	OnServer    bool   // it is no file, and cannot be copied as one
	Program     string // version of the program
	Calibration *calibrate.Calibration
	Advice      []report.Advice
	Open        []model.OpenBuild         // in the order they were saved
	Products    []Product                 // by name
	Labels      map[model.Effect][]string // that a row may have; the newest first
	Latest      model.Labels              // of the build that came last
	Newest      []*model.Build            // the last few, newest first
	NextID      map[model.Kind]string     // an id that is free: "" where none suggests itself
	Units       map[string]report.Units   // by maker
	Splits      []model.Split
}

// Product is an item of the range.
type Product struct {
	Name        string
	Description string
	Line        *model.ProductLine // nil: not in a products file
	Planned     bool               // it has a parts list, so that it can be planned
	Builds      int
}

// Record is one row and how it came to be what it is.
type Record struct {
	Stated model.Row // as typed or imported; figures worked out at import are NaN
	Full   model.Row // with those
	When   time.Time // it came into the log
	By     string    // the file or the page that brought it
	Past   []Past    // what it was before, oldest first
	Today  []calibrate.Expected
}

// Past is a row that an amendment replaced.
type Past struct {
	Row  model.Row // with figures worked out at import
	When time.Time // it was replaced
	By   string    // the file or the page that replaced it
}

// File is a file that came in through the page: CSV or a workbook.
type File struct {
	Name  string
	Bytes []byte
	Amend bool // rows may replace those of the same id
	Good  bool // take the good rows though others are at fault
}

// FileReport says what became, or would become, of a file.
type FileReport struct {
	Files    []model.Imported // one, or one a sheet
	Problems []FileProblem    // the first ones
	More     int              // how many more
	Rejects  []byte           // with Good: the records left out, as CSV with the reasons
	Taken    bool             // the rows are in the log
	Saved    *report.Saved    // what they changed; nil if nothing was taken
}

// FileProblem is one line of a file's list of problems.
type FileProblem struct {
	Sheet, Cell string // of a workbook
	Line        int
	Column      string
	Text        string
	Message     string
}
