// Command antidotary watches the papers, the doors and the antivenom of a
// venomous reptile collection. It translates words and flags into calls of
// package daemon, and does nothing else.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
	_ "time/tzdata" // a bare machine has no zone data

	"github.com/spf13/cobra"
	_ "golang.org/x/crypto/x509roots/fallback" // and no roots to check a mail server's certificate with

	"antidotary/compliance"
	"antidotary/daemon"
	"antidotary/daemon/config"
)

// Exit codes. They are documented in the README; scripts rely on them.
const (
	exitInOrder    = 0 // nothing is out of order, everything could be told
	exitFailed     = 1 // the command could not do its work
	exitUsage      = 2 // wrong words or flags
	exitCannotTell = 3 // the worst standing is cannot tell
	exitOutOfOrder = 4 // something is out of order
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], terminal{os.Stdout, os.Stderr, time.Now}))
}

// terminal is where a command runs.
type terminal struct {
	out, err io.Writer
	clock    func() time.Time
}

// app is what all commands share.
type app struct {
	terminal
	configFile string
	json       bool
	demo       string
	code       int
	loaded     *daemon.Options // see options
}

// usageError marks a mistake in words or flags.
type usageError struct{ error }

func run(ctx context.Context, args []string, t terminal) int {
	a := &app{terminal: t}
	root := a.root()
	root.SetArgs(args)
	root.SetOut(t.out)
	root.SetErr(t.err)
	if err := root.ExecuteContext(ctx); err != nil {
		fmt.Fprintf(t.err, "antidotary: %v\n", err)
		var usage usageError
		if errors.As(err, &usage) {
			return exitUsage
		}
		return exitFailed
	}
	return a.code
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "antidotary",
		Short: "Watch papers, doors and antivenom of a venomous reptile collection",
		Long: `antidotary watches three promises of a venomous reptile collection: papers in
force, doors opened by the trained only, and antivenom enough for every species
held. It tells the right person by the last day on which they can still act.

Begin with: antidotary demo

Exit codes: 0 in order; 1 the command failed; 2 wrong words or flags;
3 something cannot be told; 4 something is out of order.`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          func(*cobra.Command, []string) error { return nil },
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usageError{fmt.Errorf("there is no command %q: antidotary --help lists them", args[0])}
			}
			return cmd.Help()
		},
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	flags := root.PersistentFlags()
	flags.StringVar(&a.configFile, "config", "", "configuration file (default: antidotary.yaml if it is there, else built-in defaults)")
	flags.BoolVar(&a.json, "json", false, `print JSON with "format": 1`)
	root.AddCommand(a.demoCommand(), a.serveCommand(), a.checkCommand(), a.aheadCommand(), a.explainCommand(),
		a.journalCommand(), a.migrateCommand(), a.backupCommand(), a.restoreCommand(),
		a.moveCommand(), a.outboxCommand(), a.importCommand(), a.exportCommand(), a.mailCommand(), a.weekCommand(), a.configCommand())
	root.AddCommand(a.coverCommand(), a.reorderCommand(), a.openCommand(), a.matrixCommand(), a.ladderCommand())
	root.AddCommand(a.sweepCommand(), a.healthCommand(), a.rulesCommand())
	root.AddCommand(a.permitCommand(), a.animalCommand(), a.lotCommand(), a.sealCommand(), a.supplyCommand(), a.orderCommand(), a.agreementCommand(), a.placeCommand(), a.enclosureCommand(), a.coverageCommand(), a.countedCommand(), a.drillCommand(), a.certificateCommand(),
		a.activityCommand(), a.listCommand(), a.decisionCommand(), a.personCommand(), a.sessionCommand(), a.speciesCommand(), a.watchingCommand(), a.undoCommand(), a.newCommand())
	return root
}

// options reads the configuration that the flags name, once for a command.
func (a *app) options() (daemon.Options, error) {
	if a.loaded != nil {
		return *a.loaded, nil
	}
	cfg := config.Default()
	file := a.configFile
	if file == "" {
		if _, err := os.Stat("antidotary.yaml"); err == nil {
			file = "antidotary.yaml"
		}
	}
	if file != "" {
		var err error
		if cfg, err = config.Load(file); err != nil {
			return daemon.Options{}, err
		}
	}
	a.loaded = &daemon.Options{Config: cfg, Clock: a.clock, Out: a.out, Err: a.err}
	return *a.loaded, nil
}

// report evaluates the records that the flags name.
func (a *app) report(ctx context.Context, q daemon.Question) (*compliance.Report, error) {
	q.Demo = a.demo
	opt, err := a.options()
	if err != nil {
		return nil, err
	}
	return daemon.Evaluate(ctx, opt, q)
}

// mailOff says whether the configuration sends no mail of the records that
// are asked.
func (a *app) mailOff() (bool, error) {
	opt, err := a.options()
	return a.demo == "" && opt.Config.Mail.Mode == config.MailNone, err
}

// demoFlag lets a question be asked of the demo house instead of a database.
func (a *app) demoFlag(cmd *cobra.Command) {
	cmd.Flags().StringVar(&a.demo, "demo", "", "ask of a demo house, full or small, instead of the records")
	cmd.Flags().Lookup("demo").NoOptDefVal = "full"
}

func none(cmd *cobra.Command, args []string) error {
	if err := cobra.NoArgs(cmd, args); err != nil {
		return usageError{err}
	}
	return nil
}
