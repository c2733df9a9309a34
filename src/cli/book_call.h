// SPDX-License-Identifier: MIT
// What the commands of the job book share: which book, who acts, and a table of
// verbs for each command.
#ifndef DW_CLI_BOOK_CALL_H
#define DW_CLI_BOOK_CALL_H

#include "book/job/job.h"
#include "book/store/record.h"
#include "book/store/words.h"
#include "cli/command.h"

// A call parted into words and key=value operands, with the book open.
typedef struct {
    DwBook *book;
    const char *folder; // of the book
    char *found_folder; // where it was looked up
    const char **words; // after the verb
    size_t word_count;
    const char **operands;
    size_t operand_count;
    bool json;
    bool sure;          // of --sure: what speaks against it is known
    const char *out;    // FILE of --out, or NULL
    const char *paper;  // of --paper, or NULL
    const char *texts;  // FILE of --words, or NULL
    bool flagged;       // it was done, with a remark: the exit status says so
    int argument_count; // as it was typed, from the verb on
    char **arguments;
    char *made; // an operand that the program put in place of a typed one
} DwBookCall;

typedef struct DwVerb {
    const char *name;
    const char *usage; // what follows the verb
    const char *summary;
    size_t words_least, words_most;
    DwStatus (*run)(DwBookCall *call, DwMessage *message);
    bool operands; // takes key=value
    bool json;     // takes --json
    bool writes;   // takes --out, --paper and --words
    bool asks;     // takes --sure: it says first what speaks against it
    bool makes;    // does without an open book; most make the one that the others need
} DwVerb;

// Runs the verb of COMMAND that ARGUMENTS begin with, or its usual one. Options: --book FOLDER (else DECKWRIGHT_BOOK,
// else the user's data folder), --by NAME (else the user's name), --json.
int dw_book_call_run(const DwCommand *command, int count, char **arguments);

// Opens the book in FOLDER (NULL for where it usually is) for ACTOR (NULL for the
// user's name). The caller frees *BOOK with dw_book_close().
DwStatus dw_book_call_open(const char *folder, const char *actor, DwBook **book, DwMessage *message);
// Sets the fields of RECORD from the call's operands.
DwStatus dw_book_call_set(const DwBookCall *call, DwRecord *record, DwMessage *message);
// The value of the operand KEY, or NULL.
const char *dw_book_call_operand(const DwBookCall *call, const char *key);
// Refuses operands that are none of KEYS (NULL last).
DwStatus dw_book_call_only(const DwBookCall *call, const char *const *keys, DwMessage *message);
// Sets RECORD from the operands, adds it by the verb of its kind, prints and clears it.
DwStatus dw_book_call_add(DwBookCall *call, DwRecord *record, DwMessage *message);
// Refuses where the like of RECORD was added for the same day, unless the call is sure of it.
DwStatus dw_book_call_doubt(const DwBookCall *call, const DwRecord *record, DwMessage *message);
// Adds (NUMBER NULL) or changes a record from the operands, prints and clears it.
DwStatus dw_book_call_write(DwBookCall *call, DwRecord *record, const char *number, DwMessage *message);
// Adds LINE to the bill that the call's first word numbers, OWNER being the key of that number.
DwStatus dw_book_call_add_line(DwBookCall *call, DwRecord *line, const char *owner, DwMessage *message);
// Gives that bill out by ISSUE.
DwStatus dw_book_call_issue(DwBookCall *call, DwStatus (*issue)(DwBook *book, int64_t id, DwMessage *message),
                            DwMessage *message);
// Puts what the operation "name" usually takes on DECK where KEY=usual was typed. Where KEY was
// not given at all and something is known, *OFFER is a sentence that offers it (else NULL); the
// caller frees it with free().
DwStatus dw_book_call_offer(DwBookCall *call, const char *key, int64_t deck, char **offer, DwMessage *message);
// Prints the BILL that the call's first word numbers, which it clears, its LINES and totals.
DwStatus dw_book_call_show_bill(DwBookCall *call, DwRecord *bill, const DwEntity *lines, const char *key,
                                DwStatus (*print_totals)(DwBookCall *call, int64_t id, DwMessage *message),
                                DwMessage *message);
// Lists all records of ENTITY with the fields COLUMNS (NULL last), or as JSON.
DwStatus dw_book_call_list(DwBookCall *call, const DwEntity *entity, const char *const *columns, DwMessage *message);
// Reads a word as the number of a record.
DwStatus dw_book_call_number(const char *word, int64_t *number, DwMessage *message);
// Prints RECORD: a line for each field that says something, or JSON.
void dw_book_call_print(const DwBookCall *call, const DwRecord *record);
// What a line of a list says of RECORD beside its title: ", job 0002, accepted"; "" for a kind whose title is enough.
// The caller frees it with free().
char *dw_book_call_more(const DwBookCall *call, const DwRecord *record, bool with_job);
// Says which others may be the same as RECORD, which was just added.
DwStatus dw_book_call_print_twins(DwBookCall *call, const DwRecord *record, DwMessage *message);
// Prints RECORDS one after another, as JSON in one array.
void dw_book_call_print_all(const DwBookCall *call, const DwRecords *records);
// Prints what the library knows of DECK's model, where it knows it.
DwStatus dw_book_call_offer_model(DwBookCall *call, int64_t deck, DwMessage *message);
// Prints the fields that the operands of ENTITY may set.
void dw_book_call_print_fields(const DwEntity *entity);

// A job on the command line.

// Prints JOB with all that hangs on it: by name, or with --json in full as one object.
DwStatus dw_job_show(DwBookCall *call, const DwJob *job, DwMessage *message);
// The id of the job that the call's first word numbers.
DwStatus dw_job_call_id(DwBookCall *call, int64_t *id, DwMessage *message);
// Keeps a file on it.
DwStatus dw_job_call_attach(DwBookCall *call, DwMessage *message);
// The jobs that came in together with it; with another job, that it came in with that one.
DwStatus dw_job_call_visit(DwBookCall *call, DwMessage *message);
// The plan of its work: put on the bench and listed; a step ticked off, not done after all, left out.
DwStatus dw_job_call_plan(DwBookCall *call, DwMessage *message);
DwStatus dw_job_call_tick(DwBookCall *call, DwMessage *message);
DwStatus dw_job_call_untick(DwBookCall *call, DwMessage *message);
DwStatus dw_job_call_leave_out(DwBookCall *call, DwMessage *message);

#endif
