// SPDX-License-Identifier: MIT
// What the guide knows: symptoms, findings, faults, tests and remedies, from key
// files that a technician may write and read (data/guide).
#ifndef DW_GUIDE_GUIDE_KNOWLEDGE_H
#define DW_GUIDE_GUIDE_KNOWLEDGE_H

#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

typedef enum { DW_GUIDE_BELT, DW_GUIDE_IDLER, DW_GUIDE_DIRECT, DW_GUIDE_DRIVES } DwGuideDrive;
typedef enum {
    DW_GUIDE_AUTOMATIC,
    DW_GUIDE_CHANGER,
    DW_GUIDE_SUSPENDED,
    DW_GUIDE_LINEAR,
    DW_GUIDE_TRAITS
} DwGuideTrait;
typedef enum { DW_GUIDE_RISK_NONE, DW_GUIDE_RISK_LOW, DW_GUIDE_RISK_MEDIUM, DW_GUIDE_RISK_HIGH } DwGuideRisk;

// Texts of a key that may stand several times, each with its line.
typedef struct {
    char **texts;
    unsigned *lines;
    size_t count;
} DwGuideTexts;

typedef struct {
    char *key, *name, *area, *drives, *has, *remedy, *sound, *source;
    double prior, by_drive[DW_GUIDE_DRIVES], old; // NAN where the file says nothing
    unsigned line;
    bool on[DW_GUIDE_DRIVES];
    int trait; // DwGuideTrait that the deck must have, or -1
    size_t *remedies;
    size_t remedy_count;
} DwGuideFault;

// A symptom or a finding: something that is so or is not so.
typedef struct {
    char *key, *ask, *test, *first, *alike, *measures, *not_with, *caution, *source;
    double leak;
    DwGuideTexts by, phrases, perhaps, reading, flutter_line;
    unsigned line;
    bool symptom;
    int from_test; // that answers a finding; -1 for a symptom
    size_t *faults;
    double *chances; // of each of `faults`
    size_t fault_count;
    size_t own_count; // of the faults: those that make the sign itself; what makes a complaint alike follows them
    size_t *alikes;   // complaints that this one may be said instead of
    size_t alike_count;
    size_t *against; // signs that cannot be so together with this one
    size_t against_count;
    size_t *first_tests; // before anything else when this is so
    size_t first_count;
    bool is_measure; // of complaint `measured`: where that is truly so, this is so too, whatever causes it
    size_t measured;
} DwGuideSign;

typedef struct {
    char *key, *name, *tools, *risk_word, *caution, *mains, *procedure, *not_with, *source;
    DwGuideTexts does;
    double minutes;
    unsigned line;
    DwGuideRisk risk;
    size_t *signs; // its findings
    size_t sign_count;
    size_t *against; // complaints with which it is never offered
    size_t against_count;
} DwGuideTest;

typedef struct {
    char *key, *name, *operation, *minutes, *opens, *parts, *stock, *tools, *caution, *mains, *source;
    DwGuideTexts lubricant, torque, never;
    double order, minutes_least, minutes_most;
    unsigned line;
} DwGuideRemedy;

// What hears the complaints in an owner's words (guide_words.h).
typedef struct DwGuideEar DwGuideEar;

typedef struct {
    DwGuideFault *faults;
    DwGuideSign *signs; // the symptoms first
    DwGuideTest *tests;
    DwGuideRemedy *remedies;
    size_t fault_count, sign_count, symptom_count, test_count, remedy_count;
    DwGuideEar *ear;
} DwGuideKnowledge;

// What is wrong with the files, in their order.
typedef struct {
    char **lines; // "faults.ini:12: …"
    size_t count;
} DwGuideTroubles;

// Reads the files in FOLDER and adds to TROUBLES (start it with {0}) whatever is wrong with them:
// unknown names, chances out of range, what is missing, harmful advice. The caller clears both,
// whatever the status. Status: DW_BAD_INPUT for a file that cannot be read as a key file.
DwStatus dw_guide_knowledge_read(const char *folder, DwGuideKnowledge *knowledge, DwGuideTroubles *troubles,
                                 DwMessage *message);
void dw_guide_knowledge_clear(DwGuideKnowledge *knowledge);
void dw_guide_troubles_clear(DwGuideTroubles *troubles);
// Adds a line on line LINE (0: none) of the file called NAME.
void dw_guide_trouble(DwGuideTroubles *troubles, const char *name, unsigned line, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

// The place of what is called KEY, or -1. A sign is called "symptom.wow" or "finding.belt_long".
int dw_guide_fault_find(const DwGuideKnowledge *knowledge, const char *key);
int dw_guide_sign_find(const DwGuideKnowledge *knowledge, const char *key);
int dw_guide_test_find(const DwGuideKnowledge *knowledge, const char *key);
int dw_guide_remedy_find(const DwGuideKnowledge *knowledge, const char *key);
// "symptom.wow". The caller frees it with free().
char *dw_guide_sign_name(const DwGuideSign *sign);
// How often fault FAULT alone makes SIGN be said; 0 where it does not. Where the fault makes a complaint alike only,
// this is how often that is taken for SIGN.
double dw_guide_sign_chance(const DwGuideSign *sign, size_t fault);
// The same of the fault's own signs alone: 0 where only a complaint alike comes of it.
double dw_guide_sign_own_chance(const DwGuideSign *sign, size_t fault);

#endif
