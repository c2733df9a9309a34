// SPDX-License-Identifier: MIT
// The command line: a procedure of the registry or a command of the table.
#include "base/place.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/shop/setting_check.h"
#include "chart/draw/fonts.h"
#include "chart/draw/number.h"
#include "cli/help.h"

#include <stdlib.h>
#include <string.h>

static const DwCommand *const commands[] = {
    &dw_command_bench,     &dw_command_synth,    &dw_command_ears,    &dw_command_plan,   &dw_command_board,
    &dw_command_job,       &dw_command_customer, &dw_command_deck,    &dw_command_stock,  &dw_command_model,
    &dw_command_register,  &dw_command_estimate, &dw_command_invoice, &dw_command_report, &dw_command_book,
    &dw_command_demo_shop, &dw_command_guide,    &dw_command_help,
};

const DwCommand *dw_command_at(size_t index)
{
    return index < sizeof commands / sizeof *commands ? commands[index] : NULL;
}

static bool asks_for_help(const char *word)
{
    return strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0;
}

int dw_complain_of_command(const char *name)
{
    const char *nearest = dw_help_nearest(name);
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
    const DwCommand *command = dw_command_find(name);
    if (!command)
        return dw_complain_of_command(name);
    return command->run ? command->run(count - 2, arguments + 2) : dw_book_call_run(command, count - 2, arguments + 2);
}

static void find_words(void)
{
    char *folder = dw_text_format("%s/words", dw_data_folder());
    dw_setting_find_words_in(folder);
    free(folder);
}

// In the language of whoever is at the terminal; where no locale says how its numbers are written, its catalogue does.
static void speak(void)
{
    const DwTongue *tongue = dw_tongue_of_user();
    dw_tongue_set(tongue);
    if (tongue && strcmp(dw_number_mark(), ".") == 0)
        dw_number_set_mark(tongue->mark);
}

int main(int count, char **arguments)
{
    dw_number_use_locale();
    speak();
    find_words();
    int exit_status = run(count, arguments);
    dw_fonts_drop();
    if (fflush(stdout) != 0 || ferror(stdout))
        return dw_complain(DW_FAILED, &(DwMessage){"The output could not be written. Is the disk full?"});
    return exit_status;
}
