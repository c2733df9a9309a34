// SPDX-License-Identifier: MIT
#include "cli/help.h"

#include "cli/tell.h"

#include <string.h>

void dw_help_overview(FILE *stream)
{
    dw_tell(stream, "deckwright measures, computes and keeps what a turntable technician needs.\n\n");
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        dw_tell(stream, "  deckwright %-12s %s\n", procedure->name, dw_said(procedure->summary));
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        dw_tell(stream, "  deckwright %-12s %s\n", command->name, dw_said(command->summary));
    dw_tell(stream, "\nOperands are key=value with a unit: deck.speed=45rpm arm.offset=23.1deg\n"
                    "Options: --deck FILE takes operands from a key file, --json, --chart FILE.svg|.png|.pdf\n"
                    "  --job NUMBER --as received|during|left keeps the sheet in the job book\n"
                    "  --book FOLDER names the job book, --by NAME who acts\n"
                    "'deckwright help COMMAND' says what a command takes, 'deckwright help WORDS' searches.\n"
                    "Exit status: 0 measured, 1 failed, 2 bad call or input, 3 measured but a reading is flagged\n");
}

// The help of what NAME is called, of a verb or kind of it where there is a second word. Returned: whether there is
// such.
static bool print_one(const char *name, const char *second)
{
    const DwProcedure *procedure = dw_procedure_find(name);
    const DwQuantity *quantity = dw_quantity_find(name);
    const DwCommand *command = dw_command_find(name);
    const DwVerb *verb = command && second ? dw_verb_find(command, second) : NULL;
    const DwEntity *kind = command && second ? dw_command_kind(command, second) : NULL;
    if (verb)
        dw_help_verb(command, verb, stdout);
    else if (kind)
        dw_help_kind(kind, stdout);
    else if (second)
        return false;
    else if (procedure)
        dw_print_procedure_help(procedure, stdout);
    else if (command)
        dw_help_command(command, stdout);
    else if (quantity)
        dw_help_quantity(quantity, stdout);
    return procedure || command || quantity;
}

static void print_quantities(void)
{
    const DwQuantity *quantity;
    for (size_t i = 0; (quantity = dw_quantity_at(i)); i++)
        dw_help_quantity(quantity, stdout);
}

static int search(size_t count, char **words)
{
    if (dw_help_search(count, words, stdout))
        return DW_EXIT_MEASURED;
    if (count == 1 && !strchr(words[0], ' '))
        return dw_complain_of_command(words[0]);
    DwMessage message;
    return dw_complain(dw_fail(&message, DW_BAD_INPUT, "Nothing speaks of these words. Try others, or fewer."),
                       &message);
}

static int run_help(int count, char **arguments)
{
    const char *first = count ? arguments[0] : "";
    if (count == 0)
        dw_help_overview(stdout);
    else if (strcmp(first, "quantities") == 0 && count == 1)
        print_quantities();
    else if (strcmp(first, "--help") == 0 || strcmp(first, "-h") == 0)
        dw_help_command(&dw_command_help, stdout);
    else if (strcmp(first, "--complete") == 0)
        dw_help_complete((size_t)count - 1, arguments + 1, stdout);
    else if (strcmp(first, "--manual") == 0 && count == 2)
        return dw_help_manual(arguments[1], stdout) ? DW_EXIT_MEASURED : dw_complain_of_command(arguments[1]);
    else if (count > 2 || !print_one(first, count > 1 ? arguments[1] : NULL))
        return search((size_t)count, arguments);
    return DW_EXIT_MEASURED;
}

const DwCommand dw_command_help = {
    .name = "help",
    .usage = "help [COMMAND [VERB|KIND] | KEY | WORDS | quantities]",
    .summary = "Say what a command does and takes, or search for words.",
    .run = run_help,
    .detail = "  COMMAND          a command, and with VERB or KIND a part of it\n"
              "  KEY              one quantity, such as arm.offset\n"
              "  WORDS            whatever speaks of all these words, else of most\n"
              "  quantities       everything that can be stated\n"
              "  --manual NAME    its manual page, as man reads it\n"
              "  --complete …     what a shell may put for the last word\n",
};
