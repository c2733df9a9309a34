// SPDX-License-Identifier: MIT
// The intake: what was received, in what condition, and what the owner said and
// agreed to, written down with the owner present. The signature is an attachment.
#ifndef DW_BOOK_INTAKE_H
#define DW_BOOK_INTAKE_H

#include "book/store/record.h"

typedef struct {
    DwRecord record;
    int64_t job_id; // one intake a job
    char *at;
    char *received_by;
    int arrived;
    char *parcel;
    char *words; // the owner's, verbatim
    char *since_when;
    char *worked_last; // did it ever work well, and when last
    char *changed_lately;
    char *prior_repairer;
    char *system; // amplifier, phono input, cable, floor, shelf
    int wish;
    int64_t ceiling; // may be spent without asking; DW_AMOUNT_NONE when not said
    int64_t contact_before;
    bool stylus_damaged; // risk flags: bent or missing on arrival …
    bool irreplaceable;
    bool courier_damage; // keep all packaging
    bool sentimental;
    bool dispute;
    bool modified_mains; // wiring or earth altered by somebody
    char *smell;         // burning, nicotine, damp
    char *earlier_repair;
    bool none_other_received;
    bool list_correct; // the owner's declaration
    bool terms_accepted;
    bool estimate_charge_told;
    bool storage_charge_told;
} DwIntake;

// One thing that came with the deck, or was looked for and did not.
typedef struct {
    DwRecord record;
    int64_t intake_id;
    char *name;
    bool received;
    char *note;
} DwAccessory;

// One mark on the condition map.
typedef struct {
    DwRecord record;
    int64_t intake_id;
    int zone;
    int kind;
    double across; // 0 to 1 from the zone's left edge; NAN when only the zone is known
    double along;  // 0 to 1 from its far edge
    char *note;
} DwMark;

extern const DwEntity dw_intake_entity;
extern const DwEntity dw_accessory_entity;
extern const DwEntity dw_mark_entity;

// The intake of JOB into an initialised record; a job without one is DW_BAD_INPUT.
DwStatus dw_intake_of_job(DwBook *book, int64_t job, DwIntake *intake, DwMessage *message);

// What the setting KEY stood at when the deck of JOB was taken in: its owner was told that, whatever the shop asks for
// since. As it stands now where it said nothing then, or the deck was not taken in. The caller frees it with free().
char *dw_intake_setting(DwBook *book, int64_t job, const char *key);
// The same of an amount; DW_AMOUNT_NONE for none.
int64_t dw_intake_amount(DwBook *book, int64_t job, const char *key);

#endif
