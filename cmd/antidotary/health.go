package main

import (
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/spf13/cobra"
)

// healthLimit is more than a health page takes at most.
const healthLimit = 10 * time.Second

func (a *app) healthCommand() *cobra.Command {
	var ready bool
	cmd := &cobra.Command{
		Use:   "health",
		Short: "Ask the watch that runs on this machine how it is",
		Long: `Ask the page of the watch that runs on this machine (listen in the
configuration) whether its loops go round: if not, a restart helps. With --ready
ask whether its answers can be relied on now: rules loaded, records readable,
judged lately, swept by schedule.

It ends with 0 if all is well, else with 1. It is there for machines that have
no other way to ask, such as a container.`,
		Args: none,
		RunE: func(cmd *cobra.Command, _ []string) error {
			opt, err := a.options()
			if err != nil {
				return err
			}
			page := "http://" + opt.Config.Listen + "/healthz"
			if ready {
				page = "http://" + opt.Config.Listen + "/readyz"
			}
			request, err := http.NewRequestWithContext(cmd.Context(), http.MethodGet, page, nil)
			if err != nil {
				return err
			}
			client := http.Client{Timeout: healthLimit, Transport: &http.Transport{Proxy: nil}}
			resp, err := client.Do(request)
			if err != nil {
				return fmt.Errorf("no watch answers on this machine: %w", err)
			}
			defer resp.Body.Close()
			if _, err := io.Copy(a.out, resp.Body); err != nil {
				return fmt.Errorf("read %s: %w", page, err)
			}
			if resp.StatusCode != http.StatusOK {
				return fmt.Errorf("%s answers %s", page, resp.Status)
			}
			return nil
		},
	}
	cmd.Flags().BoolVar(&ready, "ready", false, "ask whether its answers can be relied on")
	return cmd
}
