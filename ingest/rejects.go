package ingest

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
)

// CopyRejects copies from the CSV file src to dst the header and those records
// that reasons names by the physical line they start on (the Start of a
// [RowError], the Line of a row). Records are copied byte for byte behind two
// columns of their own, line and reason, so that a maker can mend them where
// they stand.
//
// A record that was too long to read takes the rest of the file with it. A
// reason for a line on which no record starts is an error.
func CopyRejects(dst io.Writer, src io.Reader, reasons map[int][]string) error {
	source, err := openSource(src)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(dst)
	prefix := func(line, reason string) {
		out.WriteString(line + string(source.comma) + reason + string(source.comma))
	}
	copied := 0
	for header := true; ; header = false {
		source.next()
		_, err := source.csv.Read()
		if err == io.EOF {
			break
		}
		if errors.Is(err, errLongRecord) {
			rest, line := source.unread()
			prefix(fmt.Sprint(line), reasonCell(reasons[line]))
			if _, err := io.Copy(out, rest); err != nil {
				return err
			}
			copied++
			break
		}
		if syntax := (*csv.ParseError)(nil); err != nil && !errors.As(err, &syntax) {
			return err
		}
		raw, line := source.record()
		switch why, bad := reasons[line]; {
		case header:
			prefix("line", "reason")
		case bad:
			prefix(fmt.Sprint(line), reasonCell(why))
			copied++
		default:
			continue
		}
		out.Write(raw)
		if raw[len(raw)-1] != '\n' {
			out.WriteByte('\n')
		}
	}
	if copied < len(reasons) {
		return fmt.Errorf("ingest: %d of %d rejected rows are no longer in the file: it has changed", len(reasons)-copied, len(reasons))
	}
	return out.Flush()
}

// reasonCell spells the reasons for a record as one cell.
func reasonCell(reasons []string) string {
	return quoted(escape(strings.Join(reasons, "; ")))
}
