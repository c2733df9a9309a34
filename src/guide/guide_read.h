// SPDX-License-Identifier: MIT
// The groups of a key file into an array of structures, by a table of fields.
#ifndef DW_GUIDE_GUIDE_READ_H
#define DW_GUIDE_GUIDE_READ_H

#include "guide/guide_knowledge.h"

typedef enum { DW_GUIDE_TEXT, DW_GUIDE_NUMBER, DW_GUIDE_TEXTS } DwGuideKind;

// One key of a group and where its value goes.
typedef struct {
    const char *key;
    size_t offset; // of a char *, a double or a DwGuideTexts
    DwGuideKind kind;
    bool needed;
} DwGuideField;

typedef struct {
    const char *file;
    size_t size, key_offset, line_offset; // of one item
    const DwGuideField *fields;
    size_t field_count;
} DwGuideTable;

// Adds an item to *ITEMS, which has *COUNT, for each group of the table's file in FOLDER.
DwStatus dw_guide_read(const char *folder, const DwGuideTable *table, void **items, size_t *count,
                       DwGuideTroubles *troubles, DwMessage *message);
// Frees what the fields of one ITEM hold.
void dw_guide_read_clear(const DwGuideTable *table, void *item);

// The tables of the five files.
extern const DwGuideTable dw_guide_faults_table, dw_guide_symptoms_table, dw_guide_findings_table, dw_guide_tests_table,
    dw_guide_remedies_table;

#endif
