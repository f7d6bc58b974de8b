"""Completion of the command line for shells, made from the parser."""

import argparse

BASH = """\
_darkspell() {
  local word=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]} words=
  if [ "$COMP_CWORD" -eq 1 ]; then
    words="%(commands)s"
  else
    case "$command" in
%(cases)s
    esac
  fi
  COMPREPLY=($(compgen -W "$words" -- "$word"))
  if [ "$COMP_CWORD" -gt 1 ] && [ "${word#-}" = "$word" ]; then
    COMPREPLY+=($(compgen -f -X '!*.@(yaml|yml|csv)' -- "$word") $(compgen -d -- "$word"))
  fi
}
shopt -s extglob 2>/dev/null
complete -o filenames -F _darkspell darkspell
"""


def script(parser, shell):
    """Text that a shell evaluates to complete commands, options, their choices and files.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Of the command line.
    shell : {"bash", "zsh", "fish"}

    Returns
    -------
    str
    """
    words = {name: _words(command) for name, command in _commands(parser).items()}
    if shell == "fish":
        return _fish(parser, words)
    cases = "\n".join(f'    {name}) words="{" ".join(some)}" ;;' for name, some in words.items())
    text = BASH % {"commands": " ".join(words), "cases": cases}
    return text if shell == "bash" else f"autoload -Uz bashcompinit && bashcompinit\n{text}"


def _commands(parser):
    return next(one.choices for one in parser._actions if isinstance(one, argparse._SubParsersAction))


def _words(command):
    """Options of a command, and the words that its arguments are limited to."""
    options = [word for action in command._actions for word in action.option_strings if word.startswith("--")]
    choices = [str(word) for action in command._actions for word in action.choices or ()]
    return [*options, *choices]


def _fish(parser, words):
    helps = {one.dest: one.help for one in next(
        action for action in parser._actions if isinstance(action, argparse._SubParsersAction)
    )._choices_actions}  # fmt: skip
    lines = []
    for name, some in words.items():
        about = helps.get(name, "").replace("'", "")
        lines.append(f"complete -c darkspell -n __fish_use_subcommand -f -a {name} -d '{about}'")
        for word in some:
            form = f"-l {word[2:]}" if word.startswith("--") else f"-a {word}"
            lines.append(f"complete -c darkspell -n '__fish_seen_subcommand_from {name}' {form}")
    return "\n".join(lines) + "\n"
