// SPDX-License-Identifier: MIT
// A subcommand is a file and a row in the table of main.c.
#ifndef DW_CLI_COMMAND_H
#define DW_CLI_COMMAND_H

#include "base/inputs.h"
#include "book/store/record.h"
#include "procedure/registry/procedure.h"

#include <stdio.h>

// What the program returns to the shell.
enum { DW_EXIT_MEASURED = 0, DW_EXIT_FAILED = 1, DW_EXIT_BAD_INPUT = 2, DW_EXIT_FLAGGED = 3 };

typedef struct {
    const char *name;
    const char *usage;   // what follows "deckwright "
    const char *summary; // one line
    // ARGUMENTS are what follows the subcommand. Returned: the exit status. NULL where there are verbs.
    int (*run)(int count, char **arguments);
    const struct DwVerb *(*verbs)(void);      // the table of a command of the job book, or NULL
    const char *usual;                        // the verb that is meant where none is named, or NULL
    const DwEntity *own;                      // the kind of entry whose keys its verbs take, or NULL
    const DwEntity *(*kind_at)(size_t index); // the kinds that its verbs take as KIND, NULL past the last; or NULL
    const char *section;                      // of the catalogue, whose keys it takes; or NULL
    const char *detail;                       // further lines of its help, or NULL
} DwCommand;

extern const DwCommand dw_command_synth;
extern const DwCommand dw_command_ears;
extern const DwCommand dw_command_guide;
extern const DwCommand dw_command_help;
extern const DwCommand dw_command_bench;
extern const DwCommand dw_command_board;
extern const DwCommand dw_command_book;
extern const DwCommand dw_command_customer;
extern const DwCommand dw_command_deck;
extern const DwCommand dw_command_estimate;
extern const DwCommand dw_command_demo_shop;
extern const DwCommand dw_command_invoice;
extern const DwCommand dw_command_model;
extern const DwCommand dw_command_job;
extern const DwCommand dw_command_plan;
extern const DwCommand dw_command_register;
extern const DwCommand dw_command_report;
extern const DwCommand dw_command_stock;

// The rows of main.c's table; NULL past the last.
const DwCommand *dw_command_at(size_t index);

// What a subcommand was called with, parted.
typedef struct {
    DwInputs *inputs;
    const char **words; // what is neither option nor operand, in order
    size_t word_count;
    const char **decks; // FILEs of --deck, in order
    size_t deck_count;
    bool json;
    bool help;
    const char *chart; // FILE of --chart, or NULL
    const char *out;   // FILE of --out, or NULL
    const char *job;   // NUMBER of --job: the sheet is kept there; or NULL
    const char *as;    // of --as: received, during or left
    const char *book;  // FOLDER of --book, or NULL
    const char *by;    // NAME of --by, or NULL
    char *from_book;   // keys that the job's book gave and nobody typed, a blank before and after each; or NULL
} DwCall;

// Parts ARGUMENTS into options, operands and words. Deck files are read first,
// operands after them; both stand before what is KNOWN (or NULL), of which the call
// takes ownership. PROCEDURE (or NULL) bounds which operands are taken.
// On failure the message is set and nothing is left to free.
DwStatus dw_call_read(int count, char **arguments, const DwProcedure *procedure, DwInputs *known, DwCall *call,
                      DwMessage *message);
// Takes the lines of a deck file for whatever operands have not given.
DwStatus dw_call_read_deck(DwCall *call, const char *path, DwMessage *message);
void dw_call_clear(DwCall *call);

// Prints the one line on stderr and returns the exit status for STATUS.
int dw_complain(DwStatus status, const DwMessage *message);
// The same for a NAME that is no command: names the one that may be meant.
int dw_complain_of_command(const char *name);

// Reads CALL once more, on what the book knows of the job that it names: what is typed stands
// before that. Nothing else changes; a job that there is not is DW_BAD_INPUT.
DwStatus dw_call_know(int count, char **arguments, const DwProcedure *procedure, DwCall *call, DwMessage *message);
// Looks at where CALL writes to, before anything is measured: known types, folders that can be
// written to, names that are none of what the call reads, a job that is there and open.
DwStatus dw_call_check_destinations(const DwCall *call, DwMessage *message);
// Refuses what belongs to a job book as the place PATH that OPTION names.
DwStatus dw_destination_check(const char *option, const char *path, DwMessage *message);
// The same of --out for WHAT ("paper"), which ends in .pdf.
DwStatus dw_destination_check_pdf(const char *what, const char *path, DwMessage *message);
// Keeps SHEET on JOB of the book in FOLDER (NULL: the usual one), taken AS received, during or left, by ACTOR.
DwStatus dw_keep_sheet(const char *folder, const char *actor, const char *job, const char *as, DwSheet *sheet,
                       DwMessage *message);
// Keeps SHEET on the job that CALL names, with the shop's own limits for its deck and a remark
// that says what came from the book.
DwStatus dw_call_keep(const DwCall *call, DwSheet *sheet, DwMessage *message);
// Writes the recording that the deck described by INPUTS would give.
DwStatus dw_synth_record(const DwInputs *inputs, const char *path, DwMessage *message);
// The subcommand that every procedure of the registry shares.
int dw_procedure_command(const DwProcedure *procedure, int count, char **arguments);
// Prints SHEET for a terminal.
void dw_print_sheet(const DwSheet *sheet, FILE *stream);
// Prints the help of one procedure.
void dw_print_procedure_help(const DwProcedure *procedure, FILE *stream);

#endif
