package ingest

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"testing"
)

// shopFile is a builds file of n rows as makers write them: mixed units,
// fractions, blanks.
func shopFile(n int) []byte {
	rng := rand.New(rand.NewPCG(1, 2))
	var b bytes.Buffer
	b.WriteString("build,date,maker,product,core_batch,strand_batch,shot_batch,predicted_weight_g,predicted_length_mm," +
		"predicted_shot_g,weight,length,shot_used,calibration,shot_factor,body_factor,length_factor,load_length_mm,humidity,note\n")
	for i := range n {
		grams, inches := 300+rng.IntN(400), 40+rng.IntN(80)
		weight := fmt.Sprintf("%d g", grams)
		if i%3 == 0 {
			weight = fmt.Sprintf("%d 1/2 oz", grams/28)
		}
		length := fmt.Sprintf(`"%d-1/4"""`, inches)
		if i%2 == 0 {
			length = fmt.Sprintf("%d 3/8 in", inches)
		}
		fmt.Fprintf(&b, "B-%07d,20%02d-%02d-%02d,maker %d,%d ft bull 12pl,C%04d,N%03d,S%d,%d,%d,%.1f,%s,%s,%.1f g,7,1.0312,0.987,1.004,%d,%d,%s\n",
			i, 10+i%16, 1+i%12, 1+i%28, i%200, 4+i%9, i/200, i/900, i/5000, grams+9, inches*26, float64(grams)/6, weight, length,
			float64(grams)/6.3, inches*12, 40+i%30, []string{"", "tight plait; sore hands", ""}[i%3])
	}
	return b.Bytes()
}

func BenchmarkRead(b *testing.B) {
	for _, rows := range []int{1_000, 100_000} {
		file := shopFile(rows)
		b.Run(fmt.Sprintf("rows=%d", rows), func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(file)))
			read := 0
			for b.Loop() {
				r, err := NewReader(bytes.NewReader(file), "shop.csv", Options{})
				if err != nil {
					b.Fatal(err)
				}
				read = 0
				for {
					row, problems, err := r.Read()
					if err == io.EOF {
						break
					}
					if err != nil || problems != nil || row == nil {
						b.Fatalf("Read() = %v, %v, %v", row, problems, err)
					}
					read++
				}
			}
			if read != rows {
				b.Fatalf("read %d rows, want %d", read, rows)
			}
		})
	}
}
