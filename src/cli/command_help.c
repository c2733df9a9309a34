// SPDX-License-Identifier: MIT
#include "cli/command.h"

#include <string.h>

static void print_quantity(const DwQuantity *quantity, FILE *stream)
{
    fprintf(stream, "  %-28s %s", quantity->key, quantity->label);
    if (quantity->kind == DW_QUANTITY_CHOICE)
        fprintf(stream, ": %s", quantity->choices);
    else if (quantity->unit && *quantity->unit)
        fprintf(stream, ", %s", quantity->unit);
    if (quantity->preset)
        fprintf(stream, " [%s]", quantity->preset);
    if (quantity->repeats)
        fprintf(stream, " (may repeat)");
    fprintf(stream, "\n  %-28s   %s\n", "", quantity->help);
}

void dw_print_procedure_help(const DwProcedure *procedure, FILE *stream)
{
    fprintf(stream, "deckwright %s%s%s [key=value …] [--deck FILE] [--json] [--chart FILE]%s\n\n%s\n\n",
            procedure->name, procedure->recordings_most ? " RECORDING" : "", procedure->bare_word ? " WORD" : "",
            procedure->print ? " [--out FILE.pdf]" : "", procedure->summary);
    for (size_t i = 0; procedure->quantities[i]; i++)
        print_quantity(dw_quantity_find(procedure->quantities[i]), stream);
}

static void print_overview(FILE *stream)
{
    fputs("deckwright measures, computes and keeps what a turntable technician needs.\n\n", stream);
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        fprintf(stream, "  deckwright %-12s %s\n", procedure->name, procedure->summary);
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        fprintf(stream, "  deckwright %-12s %s\n", command->name, command->summary);
    fputs("\nOperands are key=value with a unit: deck.speed=45rpm arm.offset=23.1deg\n"
          "Options: --deck FILE takes operands from a key file, --json, --chart FILE.svg|.png|.pdf\n"
          "  --job NUMBER --as received|during|left keeps the sheet in the job book\n"
          "Exit status: 0 measured, 1 failed, 2 bad call or input, 3 measured but a reading is flagged\n",
          stream);
}

static bool asks_for_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0;
}

static int print_itself(void)
{
    printf("deckwright %s\n\n%s\n", dw_command_help.usage, dw_command_help.summary);
    return DW_EXIT_MEASURED;
}

static int run_help(int count, char **arguments)
{
    if (count == 0) {
        print_overview(stdout);
        return DW_EXIT_MEASURED;
    }
    if (strcmp(arguments[0], "quantities") == 0) {
        const DwQuantity *quantity;
        for (size_t i = 0; (quantity = dw_quantity_at(i)); i++)
            print_quantity(quantity, stdout);
        return DW_EXIT_MEASURED;
    }
    const DwProcedure *procedure = dw_procedure_find(arguments[0]);
    if (procedure) {
        dw_print_procedure_help(procedure, stdout);
        return DW_EXIT_MEASURED;
    }
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        if (strcmp(command->name, arguments[0]) == 0 && command != &dw_command_help)
            return command->run(1, (char *[]){"--help", NULL});
    if (asks_for_help(arguments[0]) || strcmp(arguments[0], dw_command_help.name) == 0)
        return print_itself();
    return dw_complain_of_command(arguments[0]);
}

const DwCommand dw_command_help = {
    .name = "help",
    .usage = "help [COMMAND | quantities]",
    .summary = "Say what a command does and takes; 'quantities' lists everything that can be stated.",
    .run = run_help,
};
