// SPDX-License-Identifier: MIT
// The command line: a procedure of the registry or a command of the table.
#include "base/text.h"
#include "book/shop/setting_check.h"
#include "chart/draw/fonts.h"
#include "chart/draw/number.h"
#include "cli/command.h"
#include "procedure/registry/data_table.h"

#include <stdlib.h>
#include <string.h>

static const DwCommand *const commands[] = {
    &dw_command_bench,    &dw_command_synth,   &dw_command_plan,   &dw_command_board, &dw_command_job,
    &dw_command_customer, &dw_command_deck,    &dw_command_stock,  &dw_command_model, &dw_command_register,
    &dw_command_estimate, &dw_command_invoice, &dw_command_report, &dw_command_book,  &dw_command_demo_shop,
    &dw_command_guide,    &dw_command_help,
};

const DwCommand *dw_command_at(size_t index)
{
    return index < sizeof commands / sizeof *commands ? commands[index] : NULL;
}

static bool asks_for_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0;
}

// The command that is most likely meant by a misspelt NAME, or NULL.
static const char *nearest_command(const char *name)
{
    const char *nearest = NULL;
    size_t least = strlen(name) / 2 + 1;
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++)
        if (dw_text_distance(name, procedure->name) < least) {
            nearest = procedure->name;
            least = dw_text_distance(name, nearest);
        }
    const DwCommand *command;
    for (size_t i = 0; (command = dw_command_at(i)); i++)
        if (dw_text_distance(name, command->name) < least) {
            nearest = command->name;
            least = dw_text_distance(name, nearest);
        }
    return nearest;
}

int dw_complain_of_command(const char *name)
{
    const char *nearest = nearest_command(name);
    DwMessage message;
    if (nearest)
        dw_fail(&message, DW_BAD_INPUT, "There is no command '%s'. Did you mean %s?", name, nearest);
    else
        dw_fail(&message, DW_BAD_INPUT, "There is no command '%s'. 'deckwright help' lists them.", name);
    return dw_complain(DW_BAD_INPUT, &message);
}

static int run(int count, char **arguments)
{
    if (count < 2) {
        dw_command_help.run(0, NULL);
        return DW_EXIT_BAD_INPUT;
    }
    const char *name = arguments[1];
    if (asks_for_help(name))
        return dw_command_help.run(0, NULL);
    if (strcmp(name, "--version") == 0) {
        puts("deckwright " DW_VERSION);
        return DW_EXIT_MEASURED;
    }
    const DwProcedure *procedure = dw_procedure_find(name);
    if (procedure)
        return dw_procedure_command(procedure, count - 2, arguments + 2);
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
        if (strcmp(commands[i]->name, name) == 0)
            return commands[i]->run(count - 2, arguments + 2);
    return dw_complain_of_command(name);
}

static void find_words(void)
{
    char *folder = dw_text_format("%s/words", dw_data_folder());
    dw_setting_find_words_in(folder);
    free(folder);
}

int main(int count, char **arguments)
{
    dw_number_use_locale();
    find_words();
    int exit_status = run(count, arguments);
    dw_fonts_drop();
    if (fflush(stdout) != 0 || ferror(stdout))
        return dw_complain(DW_FAILED, &(DwMessage){"The output could not be written. Is the disk full?"});
    return exit_status;
}
