// SPDX-License-Identifier: MIT
// The manual pages: the help's own lines between man's headings.
#include "cli/help.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"

#include <stdlib.h>
#include <string.h>

// TEXT as man prints it: a backslash, a hyphen-minus and a control character at the head of a line mean themselves.
static void print_plain(const char *text, FILE *stream)
{
    bool head = true;
    for (; *text; text++) {
        if (head && (*text == '.' || *text == '\''))
            fputs("\\&", stream);
        if (*text == '\\')
            fputs("\\e", stream);
        else if (*text == '-')
            fputs("\\-", stream);
        else
            fputc(*text, stream);
        head = *text == '\n';
    }
}

static void print_head(const char *page, const char *summary, FILE *stream)
{
    fprintf(stream, ".TH %s 1 \"\" \"Deckwright " DW_VERSION "\" \"Deckwright\"\n.SH NAME\n", page);
    print_plain(page, stream);
    fputs(" \\- ", stream);
    print_plain(summary, stream);
    fputs("\n", stream);
}

// A part of the page whose lines stand as they are.
static void print_lines(const char *heading, const char *text, FILE *stream)
{
    fprintf(stream, ".SH %s\n.nf\n", heading);
    print_plain(text, stream);
    fputs(".fi\n", stream);
}

static void print_end(FILE *stream)
{
    fputs(".SH EXIT STATUS\n"
          ".TP\n.B 0\nmeasured, or done\n"
          ".TP\n.B 1\nthe operation failed\n"
          ".TP\n.B 2\na bad call or bad input\n"
          ".TP\n.B 3\nmeasured, but a reading is flagged\n"
          ".SH ENVIRONMENT\n"
          ".TP\n.B DECKWRIGHT_BOOK\nthe folder of the job book, where no \\-\\-book is given\n"
          ".TP\n.B DECKWRIGHT_DATA\nthe folder of limits, plans, words and operations, where not those that were "
          "installed\n"
          ".SH SEE ALSO\n.BR deckwright (1)\n",
          stream);
}

static void print_help_of(const DwProcedure *procedure, const DwCommand *command, FILE *stream)
{
    char *text = NULL;
    size_t size = 0;
    FILE *memory = open_memstream(&text, &size);
    if (!memory)
        abort();
    if (procedure)
        dw_print_procedure_help(procedure, memory);
    else if (command)
        dw_help_command(command, memory);
    else
        dw_help_overview(memory);
    fclose(memory);
    print_lines("DESCRIPTION", text, stream);
    free(text);
}

bool dw_help_manual(const char *name, FILE *stream)
{
    bool all = strcmp(name, "deckwright") == 0;
    dw_tongue_set(NULL); // as the rest of the page
    const DwProcedure *procedure = dw_procedure_find(name);
    const DwCommand *command = dw_command_find(name);
    if (!all && !procedure && !command)
        return false;
    char *page = all ? dw_memory_text(name) : dw_text_format("deckwright-%s", name);
    print_head(page,
               all         ? "the bench tool of a turntable technician"
               : procedure ? procedure->summary
                           : command->summary,
               stream);
    char *usage =
        procedure ? dw_help_procedure_usage(procedure) : dw_memory_text(command ? command->usage : "COMMAND …");
    char *call = dw_text_format("deckwright %s\n", usage);
    print_lines("SYNOPSIS", call, stream);
    print_help_of(procedure, command, stream);
    print_end(stream);
    free(call);
    free(usage);
    free(page);
    return true;
}
