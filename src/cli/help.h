// SPDX-License-Identifier: MIT
// One source of help: what the registry, the catalogue, the book's fields and the tables of verbs say of themselves.
// The command line's help, the manual pages and the completion of the shells are all made from it.
#ifndef DW_CLI_HELP_H
#define DW_CLI_HELP_H

#include "cli/book_call.h"

// The command called NAME, or NULL.
const DwCommand *dw_command_find(const char *name);
// The verb of COMMAND called NAME, or NULL.
const DwVerb *dw_verb_find(const DwCommand *command, const char *name);
// The kind of entry that COMMAND keeps, called NAME, or NULL.
const DwEntity *dw_command_kind(const DwCommand *command, const char *name);

// What there is: every procedure and command, a line each.
void dw_help_overview(FILE *stream);
// A quantity: key, label, unit, preset, what is usual, what is accepted, how it is found.
void dw_help_quantity(const DwQuantity *quantity, FILE *stream);
// A field of the book in the same way.
void dw_help_field(const DwField *field, FILE *stream);
// How PROCEDURE is called. The caller frees it with free().
char *dw_help_procedure_usage(const DwProcedure *procedure);
// COMMAND with its verbs and the keys of its entries.
void dw_help_command(const DwCommand *command, FILE *stream);
// A KIND of entry with its keys.
void dw_help_kind(const DwEntity *kind, FILE *stream);
// One verb of COMMAND with its keys.
void dw_help_verb(const DwCommand *command, const DwVerb *verb, FILE *stream);
// The options that a verb (NULL: any of COMMAND) takes, a line each.
void dw_help_options(const DwCommand *command, const DwVerb *verb, FILE *stream);

// Prints what in the program speaks of all WORDS. Returned: how much was found.
size_t dw_help_search(size_t count, char **words, FILE *stream);
// Prints what may stand for the last of WORDS, which follow the program's name, a line each.
void dw_help_complete(size_t count, char **words, FILE *stream);
// Prints the manual page of NAME ("deckwright" for the first one), as man reads it. Returned: false when it is no
// command.
bool dw_help_manual(const char *name, FILE *stream);
// The command or procedure that is most likely meant by a misspelt NAME, or NULL.
const char *dw_help_nearest(const char *name);

#endif
