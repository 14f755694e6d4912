"""``turfmap completion``."""

from typing import ClassVar

import click
from click.shell_completion import (
    BashComplete,
    FishComplete,
    ShellComplete,
    add_completion_class,
    get_completion_class,
)

from turfmap.foundations.errors import input_fault

PROGRAM = "turfmap"
VARIABLE = "_TURFMAP_COMPLETE"


@add_completion_class
class Bash(BashComplete):
    """Completion for bash that quotes what it offers: names of properties hold blanks.

    click's own script splits them at blanks and lets the shell expand them as patterns.
    """

    name: ClassVar[str] = "bash"
    source_template: ClassVar[str] = """\
%(complete_func)s() {
    local line value typed="${COMP_WORDS[COMP_CWORD]}"
    COMPREPLY=()
    while IFS= read -r line; do
        value="${line#*,}"
        case "${line%%%%,*}:$typed" in
            dir:*) compopt -o dirnames ;;
            file:*) compopt -o default ;;
            plain:\\'*) [[ "$value" == *\\'* ]] || COMPREPLY+=("$value") ;;
            plain:\\"*) COMPREPLY+=("$value") ;;
            plain:*) COMPREPLY+=("$(printf '%%q' "$value")") ;;
        esac
    done < <(COMP_WORDS="$(IFS=$'\\n'; printf '%%s' "${COMP_WORDS[*]}")" COMP_CWORD="$COMP_CWORD" \\
        %(complete_var)s=bash_complete "$1" 2>/dev/null)
}
complete -o nosort -F %(complete_func)s %(prog_name)s
"""

    def source(self) -> str:
        """Return the script, without asking the bash that is there for its version."""
        return ShellComplete.source(self)


@add_completion_class
class Fish(FishComplete):
    """Completion for fish that keeps the commas of a name; click's own script cuts at the first."""

    name: ClassVar[str] = "fish"
    source_template: ClassVar[str] = FishComplete.source_template.replace(
        'string split ","', 'string split --max 1 ","'
    )


@click.command("completion")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@click.pass_context
def command(ctx: click.Context, shell: str) -> None:
    """Print what makes Tab complete commands, options, properties, zones and products.

    Reads nothing and writes nothing: where the lines go is yours to say. Names are offered from the
    place that stands on the line. bash must be 4.4 or newer.

    \b
    Examples:
      turfmap completion bash > ~/.local/share/bash-completion/completions/turfmap
      turfmap completion zsh > ~/.zfunc/_turfmap
      turfmap completion fish > ~/.config/fish/completions/turfmap.fish
    """
    kind = get_completion_class(shell)
    if kind is None:
        raise input_fault(f"this click completes nothing for {shell}", "update click")
    click.echo(kind(ctx.find_root().command, {}, PROGRAM, VARIABLE).source(), nl=False)
