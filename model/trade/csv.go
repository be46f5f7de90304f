package trade

import (
	"bufio"
	"io"
	"strconv"
	"time"
)

const header = "build,date,maker,product,core_batch,strand_batch,shot_batch," +
	"predicted_weight_g,predicted_length_mm,predicted_shot_g,predicted_strand_mm," +
	"weight_g,length_mm,shot_used_g,strand_cut_mm,strand_left_mm\n"

// WriteCSV writes the builds as a builds file.
func (t Trade) WriteCSV(w io.Writer) error {
	out := bufio.NewWriterSize(w, 1<<20)
	out.WriteString(header)
	var line []byte
	for b := range t.Builds() {
		line = line[:0]
		for _, text := range []string{b.ID, b.Date.Format(time.DateOnly), b.Maker, b.Product, b.CoreBatch, b.StrandBatch, b.ShotBatch} {
			line = append(append(line, text...), ',')
		}
		for _, x := range []float64{
			b.PredictedWeightG, b.PredictedLengthMM, b.PredictedShotG, b.PredictedStrandMM,
			b.WeightG, b.LengthMM, b.ShotUsedG, b.StrandCutMM, b.StrandLeftMM,
		} {
			line = append(strconv.AppendFloat(line, x, 'f', -1, 64), ',')
		}
		line[len(line)-1] = '\n'
		if _, err := out.Write(line); err != nil {
			return err
		}
	}
	return out.Flush()
}
