package main

import (
	"encoding/json"
	"fmt"
	"runtime/debug"

	"github.com/cueproof/cueproof/rules"
	"github.com/spf13/cobra"
)

// These are set by the build of a release: -ldflags "-X main.release=1.2.3".
var (
	release      = "0.1.0-dev"
	commit, date string
)

type versionInfo struct {
	Version string `json:"version"`
	Commit  string `json:"commit,omitempty"`
	Date    string `json:"date,omitempty"`
	Go      string `json:"go"`
	Format  int    `json:"show_format"`
	Edition int    `json:"rule_edition"`
}

// version tells what this program is, without reading a rule.
func version() versionInfo {
	v := versionInfo{Version: release, Commit: commit, Date: date, Format: 1, Edition: rules.Edition}
	if info, ok := debug.ReadBuildInfo(); ok {
		v.Go = info.GoVersion
		for _, setting := range info.Settings {
			switch setting.Key {
			case "vcs.revision":
				v.Commit = setting.Value
			case "vcs.time":
				v.Date = setting.Value
			}
		}
	}
	return v
}

// line says it to people.
func (v versionInfo) line() string {
	line := "cueproof " + v.Version
	if v.Commit != "" {
		line += fmt.Sprintf(" (%.12s, %s)", v.Commit, v.Date)
	}
	return line + fmt.Sprintf(", rules of edition %d", v.Edition)
}

func newVersion() *cobra.Command {
	var asJSON bool
	command := &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Example: "  cueproof version --json",
		Args:    noArguments,
		RunE: func(command *cobra.Command, _ []string) error {
			text := []byte(version().line())
			if asJSON {
				var err error
				if text, err = json.Marshal(version()); err != nil {
					return fault{err}
				}
			}
			return write(command.OutOrStdout(), append(text, '\n'))
		},
	}
	command.Flags().BoolVar(&asJSON, "json", false, "print it as JSON")
	return command
}
