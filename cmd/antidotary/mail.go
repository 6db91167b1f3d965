package main

import (
	"errors"
	"io"

	"github.com/spf13/cobra"

	"antidotary/daemon"
)

func (a *app) mailCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "mail", Short: "Try whether the watch can send mail"}
	cmd.AddCommand(a.mailTestCommand())
	return cmd
}

func (a *app) mailTestCommand() *cobra.Command {
	var to string
	cmd := &cobra.Command{
		Use:   "test",
		Short: "Send one real mail, and say at which step it fails, and why",
		Long: `Send one short, real mail through the configured mail server, exactly as the
watch does, and say of each step how it went: the server's name, the
connection, TLS and whose certificate, the greeting, the login, the sender, the
recipient, the mail itself. At the first that fails it says what is wrong and
what to do, with the server's own words. The password is never printed.

Exit code 0 says that the server took the mail. Taken is not arrived: look.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			out := a.out
			if a.json {
				out = io.Discard
			}
			trial, err := daemon.TryMail(cmd.Context(), opt, to, out)
			if err != nil {
				return err
			}
			if a.json {
				err = a.print(trial)
			}
			if err == nil && !trial.Taken {
				err = errors.New("the mail was not taken")
			}
			return err
		},
	}
	cmd.Flags().StringVar(&to, "to", "", "the recipient (default: the sender, mail.from)")
	return cmd
}
