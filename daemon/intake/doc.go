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
//     A row of sessions is of the recorded one of that trainee, species, day,
//     mentor and beginning; where one may be the same, it is refused, for twice
//     recorded it counts twice. Whether a session counts, the ladder says.
//  8. A row that rests on a refused row is refused. The rest is one Batch.
//
// # Whole lists
//
// An export (NewExport) writes every current record as a row of the list of
// its kind, and planWhole reads such lists back. They are read otherwise than
// somebody's own lists, for a row there says what somebody knows of a record,
// and a row here is the whole record:
//
//   - The first heading is a mark, "export 1: animals": it says what the list
//     is, whatever its file is called, and in which format. A newer format is
//     refused, and so is a column that nobody knows.
//   - Columns are made of the fields of the record (columnsOf), so that a field
//     added later cannot be forgotten; those of animals, papers and vials are
//     called as in the starter lists. A list within a record stands in one
//     cell, its items parted by semicolons and their parts by bars: a record is
//     one row, so no row can be left behind by its record.
//   - The first column holds the identifier, because natural keys do not make a
//     copy exact: two people may have one name, a number may be corrected, and
//     activities have none. What is referred to is written by name where the
//     name means one record, for people edit it.
//   - Texts come back exactly (celled), and a blank cell is an empty field, not
//     an unknown one.
//   - The last column holds a sign of the record as it was exported. A row that
//     nobody edited therefore never takes a newer record back, and one that was
//     edited while its record changed is refused: otherwise an old file could
//     lift a suspension that came after it.
//   - A lot's vials are its movements, not a count, because a count would lose
//     when they came. Whoever counts gives a list of one's own instead.
package intake
