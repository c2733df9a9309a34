// SPDX-License-Identifier: MIT
// One deck's case: what it is and what was answered so far.
#ifndef DW_GUIDE_GUIDE_CASE_H
#define DW_GUIDE_GUIDE_CASE_H

#include "base/sheet.h"
#include "guide/guide_knowledge.h"

typedef enum { DW_GUIDE_OPEN, DW_GUIDE_YES, DW_GUIDE_NO, DW_GUIDE_UNKNOWN } DwGuideAnswer;

// What was answered of a sign: how likely that answer is where the sign is so, and where it is not.
typedef struct {
    DwGuideAnswer answer; // the last
    DwGuideAnswer before; // DW_GUIDE_OPEN where it was looked at once; else what the first look showed, or
                          // DW_GUIDE_UNKNOWN where the second could not tell
    bool asked;           // a complaint that was not brought in but said when it was asked for
    double if_so, if_not; // both 1 for "unknown"
    unsigned turn;        // the place of the answer among the answers, from 1
    char *from;           // "answered", or the reading that says it
} DwGuideEvidence;

// On how many of the shop's own decks a fault was confirmed.
typedef struct {
    double decks, of_model; // of this drive; of these of the same make and model
    double returned;        // of `decks` that came back under warranty
} DwGuideShare;

// What owners said of the shop's own decks; no arrays where nothing was counted.
typedef struct {
    double *brought; // [complaint][fault]: on how many that had this fault an owner complained so
    double *said;    // the same of those that had this fault alone
    double *alone;   // of each fault: how many that had it alone
} DwGuideSaid;

// What the shop found that no file of the guide lists.
typedef struct {
    char *cause; // as it was written
    DwGuideShare share;
} DwGuideUnlisted;

typedef struct {
    const DwGuideKnowledge *knowledge;
    DwGuideEvidence *evidence;   // of each sign
    int drive;                   // DwGuideDrive, or -1 while unknown
    bool drive_asked;            // the drive was answered, though it be that it cannot be told
    unsigned drive_turn;         // the place of that answer among the answers; 0 without one
    int traits[DW_GUIDE_TRAITS]; // 1 has it, 0 has it not, -1 unknown
    double age;                  // years; NAN while unknown
    unsigned turns;
    bool *confirmed;                        // of each fault: the job says that it was seen; NULL for none
    DwGuideShare *own;                      // of each fault: what the shop itself found; NULL where it is not counted
    DwGuideShare own_all;                   // of all decks with any confirmed cause
    DwGuideShare own_with[DW_GUIDE_TRAITS]; // of these that have the trait; no decks where that was not counted
    DwGuideUnlisted *own_unlisted;
    size_t own_unlisted_count;
    DwGuideSaid own_said;
    double own_named; // the share of what is so that those owners named
    bool without_own; // the shop's own cases do not count
    char *unheard;    // what of the owner's words means nothing to the guide, in quotes; NULL for nothing
    char *unsafe;     // what the book calls unsafe about the deck; NULL for nothing
} DwGuideCase;

// A case of which nothing is known. KNOWLEDGE outlives it. Clear it with dw_guide_case_clear().
void dw_guide_case_init(DwGuideCase *guide_case, const DwGuideKnowledge *knowledge);
void dw_guide_case_clear(DwGuideCase *guide_case);

// Takes that ALL of the shop's own decks have a confirmed cause, and of these so many the trait WITH.
void dw_guide_case_own_all(DwGuideCase *guide_case, DwGuideShare all, const DwGuideShare with[DW_GUIDE_TRAITS]);
// Takes that the shop confirmed FAULT on so many of its own decks.
void dw_guide_case_own(DwGuideCase *guide_case, size_t fault, DwGuideShare share);
// The same of CAUSE, which no file of the guide lists.
void dw_guide_case_own_unlisted(DwGuideCase *guide_case, const char *cause, DwGuideShare share);
// Takes COUNTS with their memory.
void dw_guide_case_own_complaints(DwGuideCase *guide_case, DwGuideSaid counts);
// Takes that FAULT was seen to be there.
void dw_guide_case_confirm(DwGuideCase *guide_case, size_t fault);
// Takes that WHAT is unsafe about the deck: the sheet then says so before all else.
void dw_guide_case_unsafe(DwGuideCase *guide_case, const char *what);

// Takes an answer to sign SIGN; DW_GUIDE_OPEN takes it back. The last answer counts.
void dw_guide_case_answer(DwGuideCase *guide_case, size_t sign, DwGuideAnswer answer);
// The same for a complaint that the owner did not bring in but was asked for: "yes" then weighs less.
void dw_guide_case_answer_asked(DwGuideCase *guide_case, size_t sign, DwGuideAnswer answer);
// The key under which what of the owner's words was not understood is kept with the answers.
extern const char dw_guide_unheard_key[];
// Takes WORDS (NULL: nothing) as what of the owner's words was not understood.
void dw_guide_case_keep_unheard(DwGuideCase *guide_case, const char *words);
// How often what is truly complained of is not so as it is measured.
extern const double dw_guide_not_measured;
// Whether complaint SIGN was brought in, not only agreed to when it was asked for.
bool dw_guide_case_was_brought(const DwGuideCase *guide_case, size_t sign);
// On how many of the shop's own decks that had FAULT an owner complained of what was brought in now: where of
// several things, of that which was said most often.
double dw_guide_case_own_alike(const DwGuideCase *guide_case, size_t fault);
// How often FAULT alone makes SIGN so: what data/guide says, and for a complaint that was brought in moved by how often
// owners of the shop's own decks complained so.
double dw_guide_case_chance(const DwGuideCase *guide_case, size_t sign, size_t fault);
// How often SIGN is so with none of its faults there: of a complaint that was brought in, less often than of others.
double dw_guide_case_leak(const DwGuideCase *guide_case, size_t sign);
// Whether SIGN measures a complaint that was answered with yes or no.
bool dw_guide_case_measures(const DwGuideCase *guide_case, size_t sign);
// What is left of "not so", NOT_SO by the faults alone, of a finding that measures a complaint of which SAID was
// answered and which is not so with COMPLAINT_NOT_SO.
double dw_guide_measured_not_so(const DwGuideEvidence *said, double complaint_not_so, double not_so);
// Whether a second look at SIGN would count: it was answered by hand with yes or no, and looked at once.
bool dw_guide_case_may_look_again(const DwGuideCase *guide_case, size_t sign);
// Takes what a second look at SIGN showed, which stands beside the first. Where no second look counts it is the answer.
void dw_guide_case_look_again(DwGuideCase *guide_case, size_t sign, DwGuideAnswer answer);
// How likely a second look at SIGN says yes where the sign is so and where it is not, after what the first said.
void dw_guide_case_second_look(const DwGuideCase *guide_case, size_t sign, double *yes_if_so, double *yes_if_not);
// Takes WORD as the answer to SIGN: "yes", "no", "unknown", "open"; "asked" for a complaint that was said when asked
// for; "no,yes" for two looks. Returned: whether it is an answer.
bool dw_guide_case_take_word(DwGuideCase *guide_case, size_t sign, const char *word);
// What stands of SIGN, as dw_guide_case_take_word() takes it. The caller frees it with free().
char *dw_guide_case_word(const DwGuideCase *guide_case, size_t sign);
// Takes whatever SHEET measured that answers a finding, as its ± allows. What was answered by
// hand stands, and what no deck of its drive can have is not asked. Returned: how many findings it answered.
size_t dw_guide_case_take_sheet(DwGuideCase *guide_case, const DwSheet *sheet);

// What was answered last by hand.
typedef struct {
    bool any, drive; // the drive, else SIGN
    size_t sign;
} DwGuideLast;

// Which answer that is; with none `any` is false.
DwGuideLast dw_guide_case_last(const DwGuideCase *guide_case);
// Takes that answer back: of two looks the second, so that the first stands.
void dw_guide_case_take_back(DwGuideCase *guide_case);
// The word for SIGN with its last answer taken back: what the first of two looks showed, else "open".
const char *dw_guide_case_word_before(const DwGuideCase *guide_case, size_t sign);

// Takes "KEY=VALUE": symptom.KEY and finding.KEY (yes, no, unknown, open), drive.kind, deck.age, and
// deck.automatic, deck.changer, deck.suspended, deck.linear (yes, no, unknown), shop.own (yes, no).
DwStatus dw_guide_case_set(DwGuideCase *guide_case, const char *operand, DwMessage *message);

// Whether test TEST must be passed before the deck may be plugged in: a complaint asks for it first, or it is one that
// complaints ask for first and a finding of it is bad; and not every one of its findings was answered with no. Those of
// such tests are all asked so that yes is bad.
bool dw_guide_case_keeps_unplugged(const DwGuideCase *guide_case, size_t test);
// Whether a complaint that speaks of danger was made, and nothing keeps the deck unplugged any more.
bool dw_guide_case_was_dangerous(const DwGuideCase *guide_case);
// Whether the deck is to stay unplugged for any reason.
bool dw_guide_case_is_dangerous(const DwGuideCase *guide_case);

// The share of complaints that come of nothing on the list, moved by what the shop found that is not on it.
double dw_guide_own_unlisted_share(const DwGuideCase *guide_case);
// How likely FAULT is before anything was answered, PRIOR by data/guide, moved by how often the shop found it.
double dw_guide_own_prior(const DwGuideCase *guide_case, size_t fault, double prior);

// The share of drive DRIVE (a DwGuideDrive) among decks brought in, and how likely FAULT is on this deck had it that
// drive.
double dw_guide_drive_share(size_t drive);
double dw_guide_drive_prior(const DwGuideCase *guide_case, size_t fault, size_t drive);
// How likely FAULT is on this deck before anything was answered: what data/guide says, moved by what the shop found.
double dw_guide_case_prior(const DwGuideCase *guide_case, size_t fault);
// "belt", "idler", "direct"; "unknown" while it is.
const char *dw_guide_drive_word(const DwGuideCase *guide_case);
// "yes", "no", "unknown", "open".
const char *dw_guide_answer_word(DwGuideAnswer answer);

#endif
