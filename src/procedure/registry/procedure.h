// SPDX-License-Identifier: MIT
// A procedure is one thing a technician does to get numbers: a row here with
// the quantities it takes and a function that returns a sheet. It then appears
// on the command line, in the web bench and in the papers without more.
#ifndef DW_PROCEDURE_PROCEDURE_H
#define DW_PROCEDURE_PROCEDURE_H

#include "base/sheet.h"

// What a procedure is asked to work on.
typedef struct {
    const DwInputs *inputs;
    const char *const *recordings; // paths
    size_t recording_count;
} DwRequest;

// What a procedure's recordings are.
typedef enum { DW_TAKES_SOUND, DW_TAKES_FILM, DW_TAKES_PHOTOS } DwTakes;

typedef struct {
    const char *name;    // the subcommand
    const char *title;   // the head of its sheet
    const char *summary; // one line of help
    // The keys it takes, NULL last, in the order a form shows them.
    const char *const *quantities;
    unsigned recordings_least, recordings_most;
    DwTakes takes;
    bool takes_differ; // each recording is a take of its own: one given twice is refused
    // The quantity that a bare word on the command line stands for, or NULL.
    const char *bare_word;
    // Fills SHEET. On failure SHEET may hold anything and is thrown away.
    DwStatus (*run)(const DwRequest *request, DwSheet *sheet, DwMessage *message);
    // Writes a true-scale PDF to PATH (`--out FILE`), or NULL where there is none.
    DwStatus (*print)(const DwRequest *request, const char *path, DwMessage *message);
} DwProcedure;

// The INDEXth row of the registry, NULL past the last.
const DwProcedure *dw_procedure_at(size_t index);
const DwProcedure *dw_procedure_find(const char *name);

// Whether PROCEDURE takes the quantity called KEY.
bool dw_procedure_takes(const DwProcedure *procedure, const char *key);

// What PROCEDURE takes, as the command line writes it: "RECORDING", "FILM", "PHOTO".
const char *dw_procedure_takes_word(const DwProcedure *procedure);

// Runs PROCEDURE: checks its recordings' number and its operands, adds the
// inputs used and the remarks on implausible ones, applies the limits of the
// deck's class. The caller frees *SHEET with dw_sheet_free().
DwStatus dw_procedure_run(const DwProcedure *procedure, const DwRequest *request, DwSheet **sheet, DwMessage *message);

#endif
