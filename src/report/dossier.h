// SPDX-License-Identifier: MIT
// All that the book holds of one job and that more than one paper prints, and
// the parts of a page that the papers share.
#ifndef DW_REPORT_DOSSIER_H
#define DW_REPORT_DOSSIER_H

#include "base/text.h"
#include "book/shop/arm.h"
#include "book/shop/cartridge.h"
#include "book/job/comparison.h"
#include "book/shop/deck.h"
#include "book/shop/setting_check.h"
#include "book/job/intake.h"
#include "book/money/invoice.h"
#include "book/job/job.h"
#include "book/store/attachment.h"
#include "chart/draw/plot.h"
#include "report/paper_words.h"
#include "report/piece.h"

typedef struct {
    DwBook *book;
    const DwPaperWords *words;
    DwChartWords chart_words; // the same, as charts ask for them
    DwFlow *flow;
    const DwLabelSize *label; // of labels that are not cut out by hand, or NULL
    const char *notice;       // of the notice: the kind asked for, or NULL
    const char *invoice;      // of the invoice: the one asked for, or NULL
    DwJob job;
    DwCustomer customer;
    DwDeck deck; // each of these is empty (id 0) when the book has none
    DwDeckArm arm;
    DwCartridge cartridge;
    DwStylus stylus;
    DwIntake intake;
    char *number;       // "0042"
    char *currency;     // of the job's newest invoice that was issued, else the shop's
    char *told;         // all that was written of the job and its deck, to look for hazards in
    DwRecords verdicts; // that stand
    DwPicture *logo;
    DwText *lost;          // the names of the pictures that could not be shown
    const DwInvoice *bill; // the invoice whose head it is, or NULL
    char *electronic;      // the same bill for a program to read, the name of its file and its day; NULL for none
    char *electronic_name, *electronic_on;
    // What the pieces of a report point into.
    DwComparison comparison;
    DwRecords left; // the settings that were noted as left
    DwSheet *noted; // those of them that are numbers, NULL until they were read
    struct {
        DwPlot *plots;
        size_t count;
    } * charts;
    size_t chart_count;
} DwDossier;

// Reads job NUMBER ("42"). The caller clears the dossier with dw_dossier_clear(), also when
// reading failed.
DwStatus dw_dossier_read(DwBook *book, const char *number, const DwPaperWords *words, DwFlow *flow, DwDossier *dossier,
                         DwMessage *message);
void dw_dossier_clear(DwDossier *dossier);

// What follows is printed by the papers; the caller frees each text with free().

// The fixed text called KEY of GROUP, which is no sentence (sentence.h): a title, a name, a word. Not to be freed.
const char *dw_dossier_say(const DwDossier *dossier, const char *group, const char *key);
// AMOUNT with the currency: "12.50 EUR", "£12.50"; "" for none.
char *dw_dossier_money(const DwDossier *dossier, int64_t amount);
// AMOUNT alone, for a column under the currency.
char *dw_dossier_amount(const DwDossier *dossier, int64_t amount);
// The day, and the time of that day, of a moment on the shop's clock; "" for none.
char *dw_dossier_day(const char *moment);
char *dw_dossier_time(const char *moment);
// NUMBER as the book writes it, "14.5", with the paper's decimal mark; what is no number as it is.
char *dw_dossier_number(const char *number);
// A field in the words of the book; "" where it says that nothing is known.
char *dw_dossier_field(const DwDossier *dossier, const DwRecord *record, const char *key);
// "Make Model variant" of the deck.
char *dw_dossier_deck(const DwDossier *dossier);
// Whether JOB, which came in together with the dossier's, is "taken in", "ready" to be fetched, or here and "not
// ready"; and the decks of those that are, "0012 Make Model; 0013 Make Model".
bool dw_dossier_visitor_is(const DwDossier *dossier, const DwJob *job, const char *word);
char *dw_dossier_visitors(const DwDossier *dossier, const char *word);
// The day on which the deck came in; "" for one that did not, or of which the book does not say it.
char *dw_dossier_received(const DwDossier *dossier);
// The labels of the settings that stood otherwise as received than as left, "Overhang and Offset angle"; how many
// were looked at twice and found the SAME, and how many CHANGED.
char *dw_dossier_changed_settings(const DwDossier *dossier, size_t *same, size_t *changed);
// What SETTING stands at.
char *dw_dossier_setting(const DwDossier *dossier, const char *setting);
// "word, word and word" of COUNT words.
char *dw_dossier_list(const DwDossier *dossier, char *const *words, size_t count);
// The same of words that somebody typed, or that only the bench has: "word; word; word" on a paper in another language
// than English, whose own words are not put between them.
char *dw_dossier_list_typed(const DwDossier *dossier, char *const *words, size_t count);
// The records of ENTITY that hang on the job. Clear with dw_records_clear().
DwStatus dw_dossier_records(const DwDossier *dossier, const DwEntity *entity, DwRecords *records, DwMessage *message);
// Whether the file of ATTACHMENT is still there as it was kept; one that is not is noted as lost, and no paper says
// anything of it.
bool dw_dossier_has_file(const DwDossier *dossier, const DwAttachment *attachment);
// Notes that ATTACHMENT cannot be shown, so that the shop is told.
void dw_dossier_note_lost(const DwDossier *dossier, const DwAttachment *attachment);
// The picture of the signature that was taken last at PHASE, and its time into *AT, which the
// caller frees with free(); NULL without one. The caller frees it with dw_picture_free().
DwPicture *dw_dossier_signature(const DwDossier *dossier, int phase, char **at);

// The shop's head, the paper's title and whose deck this is.
void dw_dossier_add_head(DwDossier *dossier, const char *title);
// The same with the owner's name alone.
void dw_dossier_add_brief_head(DwDossier *dossier, const char *title);
// The same with COUNT FACTS under FACTS_TITLE instead of the owner.
void dw_dossier_add_head_with(DwDossier *dossier, const char *title, const char *facts_title, const DwPieceFact *facts,
                              size_t count);
// A red box for every item that stands as unsafe, with who was told.
DwStatus dw_dossier_add_unsafe(DwDossier *dossier, DwMessage *message);
// What a paper warns of.
typedef enum {
    DW_CAUTIONS_OF_DECK, // whoever carries and connects it
    DW_CAUTIONS_OF_WORK, // also whoever works on it
} DwCautions;

// A box of what can hurt somebody on this job, as its words and risks have it, and the
// lines of MORE ("" for none).
void dw_dossier_add_cautions(DwDossier *dossier, DwCautions which, const char *more);
// Whether CAUTION ("glass" …) is called for.
bool dw_dossier_has_hazard(const DwDossier *dossier, const char *caution);
// Fills dossier->told; dw_dossier_read() does.
DwStatus dw_dossier_read_told(DwDossier *dossier, DwMessage *message);
// A table whose heads are the texts called by its columns; {currency} stands for the dossier's.
DwPaperTable dw_dossier_table(DwDossier *dossier, const char *group, const DwPaperColumn *columns, size_t count);
// Heading KEY of the paper GROUP and TEXT, when there is TEXT.
void dw_dossier_add_section(DwDossier *dossier, const char *group, const char *key, const char *text);
// Heading KEY of the paper GROUP and below it the sentence "KEY.text" where it stands; ABOUT is what it is about.
// Both stay on the page of what comes next.
void dw_dossier_add_fixed(DwDossier *dossier, const char *group, const char *key, const void *about);

#endif
