// Package intake makes records of somebody's spreadsheet: a folder of CSV
// files, or a workbook. Nothing is guessed, and nothing is left out in
// silence: a cell either means one thing, or its row is refused with the place
// of the cell and what is allowed there; a column, sheet or file that was not
// read is named.
//
// It is pure but for reading the files that it is handed: no clock, no
// database. What comes out is a Plan: the changes, and the fate of each row.
//
// The order in which its rules apply:
//
//  1. Bytes to cells, each with its place (Read, ReadFolder). CSV is UTF-8. A
//     workbook's date that shows no day is a month, and one that shows no year
//     is none, because the spreadsheet itself added the year.
//  2. Which list a sheet is, and its header row: by the mapping file, else by
//     the columns, else by the name (recognise).
//  3. Which field a column is: by the mapping file, else by its name. Other
//     columns are told as not read, unless the mapping file ignores them.
//  4. Cells to values. Dates whose day and month could be swapped need the
//     declared order. An estimate is no count.
//  5. Names to records: the recorded name or synonym, letter by letter, or
//     one that was accepted explicitly. What is near is only suggested.
//  6. Two rows with one natural key: both are refused.
//  7. Rows to records: a recorded one is changed where a cell differs. A blank
//     cell changes nothing.
//  8. A row that rests on a refused row is refused. The rest is one Batch.
package intake
