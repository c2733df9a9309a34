// SPDX-License-Identifier: MIT
// Parts a command's arguments into options and words, for every command alike.
#ifndef DW_CLI_OPTIONS_H
#define DW_CLI_OPTIONS_H

#include "base/status.h"

#include <stdbool.h>

// An option "--name"; the last row of a table has no name.
typedef struct {
    const char *name;
    const char **word; // where the word behind it goes; NULL for one that takes none
    bool *given;       // set where it was given; NULL for one that takes a word
    size_t *count;     // of an option that may repeat, whose words go to word[0] on; else NULL
} DwOption;

// The words that are no option, in order.
typedef struct {
    const char **words; // the caller gives room for all arguments
    size_t count;
    size_t only; // from this one on they stood behind "--"
} DwOptionWords;

// Parts ARGUMENTS by getopt_long: "--job 42" and "--job=42"; "-h" is "--help"; "-2" is a word.
// KNOWN lists the options for whoever mistypes one ("--json and --by").
// Status: DW_BAD_INPUT for an option that is none, one without its word, and one given twice.
DwStatus dw_options_read(int count, char **arguments, const DwOption *options, const char *known, DwOptionWords *words,
                         DwMessage *message);

#endif
