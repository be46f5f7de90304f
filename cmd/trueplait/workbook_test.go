package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// makeWorkbook is a program for scripts: workbook OUT.xlsx SHEET=FILE.csv …
// makes a workbook with a sheet of each file. What is a number in the file is
// one in the sheet.
func makeWorkbook() {
	if err := writeWorkbook(os.Args[1], os.Args[2:]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(exitData)
	}
}

func writeWorkbook(path string, sheets []string) error {
	book := excelize.NewFile()
	defer book.Close()
	for i, text := range sheets {
		sheet, file, _ := strings.Cut(text, "=")
		if i == 0 {
			if err := book.SetSheetName("Sheet1", sheet); err != nil {
				return err
			}
		} else if _, err := book.NewSheet(sheet); err != nil {
			return err
		}
		src, err := os.Open(file)
		if err != nil {
			return err
		}
		records, err := csv.NewReader(src).ReadAll()
		src.Close()
		if err != nil {
			return err
		}
		for r, record := range records {
			for c, cell := range record {
				at, err := excelize.CoordinatesToCellName(c+1, r+1)
				if err != nil {
					return err
				}
				var value any = cell
				if x, err := strconv.ParseFloat(cell, 64); err == nil {
					value = x
				}
				if err := book.SetCellValue(sheet, at, value); err != nil {
					return err
				}
			}
		}
	}
	return book.SaveAs(path)
}
