package main

import (
	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) exportCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "export FOLDER|FILE.xlsx",
		Short: "Write all current records as lists that import takes back",
		Long: `Write all current records into a new folder of CSV files, or into one new
workbook, beside a running watch: a list for each kind of record, each row a
whole record. Imported into an empty database they make the same records;
imported into their own they change nothing. Edit them in a spreadsheet and
import them again: antidotary import FOLDER --dry-run shows the difference.
Prefer the workbook for that: a spreadsheet that opens a CSV file may turn 001
into 1.

A row that was edited while its record changed is refused, and a row that
nobody edited never takes a newer record back.

What the journal holds (what was recorded earlier, by whom, and what people
were told) is not in it: antidotary backup keeps that. The files hold people's
names and addresses: nobody else on this machine may read them. Nothing is
overwritten.`,
		Args: one("FOLDER or FILE.xlsx"),
		RunE: func(cmd *cobra.Command, args []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			made, err := daemon.Export(cmd.Context(), opt, args[0])
			if err != nil {
				return err
			}
			return a.print(made)
		},
	}
}
