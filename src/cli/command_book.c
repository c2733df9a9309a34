// SPDX-License-Identifier: MIT
// The book as a whole: start, check, back up, restore, search, settings, journal,
// export and erasure. And the waiting-for board.
#include "base/text.h"
#include "book/care/backup.h"
#include "book/job/board.h"
#include "book/care/erase.h"
#include "book/care/exchange.h"
#include "book/care/export.h"
#include "book/care/check.h"
#include "book/care/mend.h"
#include "book/store/journal.h"
#include "book/entry/search.h"
#include "book/shop/logo.h"
#include "book/shop/settings.h"
#include "cli/book_entry.h"
#include "cli/tell.h"

#include <stdlib.h>
#include <string.h>

static DwStatus new_book(DwBookCall *call, DwMessage *message)
{
    DwStatus status = dw_book_open(call->folder, &call->book, message);
    if (status == DW_OK)
        dw_tell(stdout, "The job book is in %s.\n", call->folder);
    if (status == DW_OK && !call->found_folder)
        dw_tell(stdout, "Name it to every command, --book %s, or once and for all in DECKWRIGHT_BOOK.\n", call->folder);
    return status;
}

// Prints what was found on the way; *COUNT says how much. PROBLEMS is cleared.
static void print_problems(DwProblems *problems, size_t *count)
{
    for (size_t i = 0; i < problems->count; i++)
        puts(problems->lines[i]);
    *count = problems->count;
    dw_problems_clear(problems);
}

// On the way that a person sees every day; what is asked for goes to the output, this does not.
static void remind_of_backup(const DwBookCall *call)
{
    bool never;
    int days = dw_backup_is_due(call->book, &never);
    if (days >= 0 && never)
        dw_tell(stderr, "deckwright: The book is %d days old and was never backed up: deckwright book backup FOLDER.\n",
                days);
    else if (days >= 0)
        dw_tell(stderr, "deckwright: The last backup is %d days old: deckwright book backup FOLDER.\n", days);
}

static DwStatus check_book(DwBookCall *call, DwMessage *message)
{
    DwCheckReport report;
    size_t count;
    DwStatus status = dw_check_book(call->book, true, &report, message);
    if (status != DW_OK)
        return status;
    print_problems(&report.problems, &count);
    if (report.swept)
        dw_tell(stdout, "Half-written files of a program that was interrupted, removed: %zu.\n", report.swept);
    if (report.set_aside)
        dw_tell(stdout, "Files without an entry, moved to %s/orphans: %zu.\n", call->folder, report.set_aside);
    if (report.left)
        dw_tell(stdout, "Files without an entry, left where they are because another program has the book open: %zu.\n",
                report.left);
    dw_tell(stdout, "%zu attachment%s read. ", report.attachments, report.attachments == 1 ? "" : "s");
    if (count && count == report.rights)
        status = dw_fail(message, DW_FAILED,
                         "Nothing in the book is wrong, but others can read it: 'chmod -R go= %s' takes that away.",
                         call->folder);
    else if (count)
        status = dw_fail(message, DW_FAILED,
                         "The book has %zu problem%s. Keep it. 'deckwright book mend BACKUP' takes attachments from a "
                         "backup, 'book restore BACKUP' the whole book.",
                         count, count == 1 ? "" : "s");
    else
        dw_tell(stdout, "The book is sound.\n");
    remind_of_backup(call);
    dw_check_report_clear(&report);
    return status;
}

static DwStatus accept(DwBookCall *call, DwMessage *message)
{
    DwStatus status = dw_check_accept(call->book, message);
    if (status == DW_OK)
        dw_tell(stdout, "All entries count as they are now.\n");
    return status;
}

// Prints what could not be had, and fails when there is any.
static DwStatus name_missing(DwProblems *problems, const char *what, const char *where, DwMessage *message)
{
    size_t count;
    print_problems(problems, &count);
    return count ? dw_fail(message, DW_FAILED,
                           "%s is in %s. Files that are missing or differ from what was put into the book are named "
                           "above: %zu.",
                           what, where, count)
                 : DW_OK;
}

static DwStatus back_up(DwBookCall *call, DwMessage *message)
{
    DwProblems problems;
    DwStatus status = dw_backup_write(call->book, call->words[0], &problems, message);
    if (status == DW_OK && !problems.count)
        dw_tell(stdout, "The book is backed up in %s.\n", call->words[0]);
    if (status == DW_OK)
        return name_missing(&problems, "The backup", call->words[0], message);
    dw_problems_clear(&problems);
    return status;
}

static DwStatus restore(DwBookCall *call, DwMessage *message)
{
    char *aside = NULL;
    DwProblems problems;
    size_t erased;
    DwStatus status = dw_backup_restore(call->words[0], call->folder, &aside, &erased, &problems, message);
    if (status == DW_OK)
        dw_tell(stdout, "The book in %s is the one of the backup.\n", call->folder);
    if (status == DW_OK && aside)
        dw_tell(stdout, "What was there before is in %s.\n", aside);
    if (status == DW_OK && erased)
        dw_tell(stdout, "Customers who were erased after the backup was made, erased in it again: %zu.\n", erased);
    free(aside);
    if (status == DW_OK)
        return name_missing(&problems, "The restored book", call->folder, message);
    dw_problems_clear(&problems);
    return status;
}

static DwStatus mend(DwBookCall *call, DwMessage *message)
{
    DwMended mended;
    DwProblems problems;
    const char *digest = call->word_count > 1 ? call->words[1] : NULL;
    DwStatus status = dw_mend_attachments(call->book, call->words[0], digest, &mended, &problems, message);
    size_t count;
    print_problems(&problems, &count);
    if (status != DW_OK)
        return status;
    dw_tell(stdout, "Attachments taken from the backup: %zu. Whole as they were: %zu.\n", mended.mended, mended.whole);
    return count ? dw_fail(message, DW_FAILED, "%zu could not be mended. Try an earlier or later backup.", count)
                 : DW_OK;
}

static DwStatus search(DwBookCall *call, DwMessage *message)
{
    DwHits hits;
    DwStatus status = dw_search_words(call->book, call->words[0], 50, &hits, message);
    if (status != DW_OK)
        return status;
    if (hits.instead)
        dw_tell(stdout, "Nothing in the book begins with \"%s\". Found by \"%s\":\n", call->words[0], hits.instead);
    for (size_t i = 0; i < hits.count; i++) {
        dw_tell_padded(stdout, dw_said(hits.hits[i].entity->label), 10);
        printf(" id %-5lld  %s%s%s\n", (long long)hits.hits[i].id, hits.hits[i].title, *hits.hits[i].detail ? ", " : "",
               hits.hits[i].detail);
    }
    if (hits.count == 0)
        dw_tell(stdout, "Nothing in the book begins like that.\n");
    dw_hits_clear(&hits);
    return DW_OK;
}

static DwStatus settings(DwBookCall *call, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < call->operand_count && status == DW_OK; i++) {
        char key[100];
        const char *equals = strchr(call->operands[i], '=');
        snprintf(key, sizeof key, "%.*s", (int)(equals - call->operands[i]), call->operands[i]);
        bool logo = strcmp(key, "shop.logo") == 0 && strncmp(equals + 1, "attachments/", 12) != 0;
        status = logo ? dw_logo_set(call->book, equals + 1, "Logo of the shop", message)
                      : dw_settings_set(call->book, key, equals + 1, message);
    }
    const DwSetting *setting;
    for (size_t i = 0; status == DW_OK && (setting = dw_settings_at(i)); i++) {
        char *text = dw_settings_text(call->book, setting->field.key);
        printf("%-26s ", setting->field.key);
        dw_tell_padded(stdout, dw_said(setting->field.label), 32);
        printf(" %s\n", text);
        free(text);
    }
    return status;
}

static DwStatus no_entity(const char *name, DwMessage *message)
{
    DwText known = {0};
    const DwEntity *entity;
    for (size_t i = 0; (entity = dw_entity_at(i)); i++)
        if (!entity->quiet)
            dw_text_add(&known, "%s, ", entity->name);
    DwStatus status =
        dw_fail(message, DW_BAD_INPUT, "There is no kind of entry called \"%s\". The journal has: %ssetting.", name,
                known.chars ? known.chars : "");
    dw_text_clear(&known);
    return status;
}

static DwStatus journal(DwBookCall *call, DwMessage *message)
{
    int64_t row = 0;
    DwJournal read;
    const char *entity = call->word_count ? call->words[0] : NULL;
    if (entity && !dw_entity_find(entity) && strcmp(entity, "setting") != 0)
        return no_entity(entity, message);
    DwStatus status = call->word_count > 1 ? dw_book_call_number(call->words[1], &row, message) : DW_OK;
    if (status == DW_OK)
        status = dw_journal_read(call->book, entity, row, 200, &read, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < read.count; i++) {
        const DwJournalLine *line = &read.lines[i];
        printf("%lld  %s %s %s %lld %s: \"%s\" -> \"%s\"\n", (long long)line->id, line->at, line->who, line->entity,
               (long long)line->row, line->field, line->old_value, line->new_value);
    }
    if (!read.count)
        dw_tell(stdout, "The journal says nothing about that.\n");
    dw_journal_clear(&read);
    return DW_OK;
}

static DwStatus export_book(DwBookCall *call, DwMessage *message)
{
    int64_t customer = 0;
    DwProblems problems;
    DwStatus status = call->word_count > 1 ? dw_book_call_number(call->words[1], &customer, message) : DW_OK;
    if (status != DW_OK)
        return status;
    status = dw_export_write(call->book, customer, call->words[0], &problems, message);
    if (status == DW_OK && !problems.count)
        dw_tell(stdout, "The export is in %s.\n", call->words[0]);
    if (status == DW_OK)
        return name_missing(&problems, "The export", call->words[0], message);
    dw_problems_clear(&problems);
    return status;
}

static void print_taken(const char *name, const DwTaken *taken)
{
    dw_tell(stdout, "%s: %zu new, %zu filled in, %zu known already.\n", name, taken->added, taken->filled,
            taken->known);
}

static DwStatus import_book(DwBookCall *call, DwMessage *message)
{
    DwExchange exchange;
    DwProblems notes;
    DwStatus status = dw_exchange_read(call->book, call->words[0], &exchange, &notes, message);
    if (status == DW_OK) {
        print_taken("Customers", &exchange.customers);
        print_taken("Decks", &exchange.decks);
        dw_tell(stdout, "New on decks (owners, quantities, arms, cartridges, styli): %zu.\n", exchange.others);
    }
    for (size_t i = 0; status == DW_OK && i < notes.count; i++)
        puts(notes.lines[i]);
    dw_problems_clear(&notes);
    return status;
}

// Where else the person stood.
static void print_traces(const DwErasure *erasure)
{
    for (size_t i = 0; i < erasure->trace_count; i++) {
        const DwErasureTrace *trace = &erasure->traces[i];
        dw_tell(stdout,
                trace->erased ? "%s, id %lld: %s held the erased %s, which is erased there too.\n"
                              : "%s, id %lld: %s still holds the erased %s. 'deckwright book change' takes it out.\n",
                dw_said(trace->entity->label), (long long)trace->id, dw_said(trace->field->label),
                dw_said(trace->what->label));
    }
}

static DwStatus erase(DwBookCall *call, DwMessage *message)
{
    int64_t customer = 0;
    DwErasure erasure;
    DwStatus status = dw_book_call_number(call->words[0], &customer, message);
    if (status == DW_OK)
        status = dw_erase_customer(call->book, customer, &erasure, message);
    if (status != DW_OK)
        return status;
    dw_tell(stdout,
            "Customer %lld is erased; the decks keep their technical history. Pictures and signatures gone: %zu.\n",
            (long long)customer, erasure.attachments);
    if (erasure.invoices)
        dw_tell(stdout, "%zu %s the name until %s, as the tax law asks. Erase again after that day.\n",
                erasure.invoices, erasure.invoices == 1 ? dw_said("invoice keeps") : dw_said("invoices keep"),
                erasure.keep_until);
    print_traces(&erasure);
    dw_erasure_clear(&erasure);
    dw_tell(stdout, "Backups and copies before a migration that are older still hold the data.\n");
    return DW_OK;
}

static DwStatus due(DwBookCall *call, DwMessage *message)
{
    DwDueList list;
    DwStatus status = dw_due_list_read(call->book, &list, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < list.count; i++)
        printf("%s  %s %lld  %s: %s\n", list.items[i].over_since, dw_said(list.items[i].entity->label),
               (long long)list.items[i].id, list.items[i].what, list.items[i].why);
    if (list.count == 0)
        dw_tell(stdout, "Nothing is due for deletion.\n");
    dw_due_list_clear(&list);
    return DW_OK;
}

static const DwVerb *book_verbs(void)
{
    static const DwVerb verbs[] = {
        {"new", "", "Start the book.", 0, 0, new_book, .makes = true},
        {"check", "", "Check the file, the entries and every attachment.", 0, 0, check_book},
        {"accept", "", "Take the entries as they are now, after looking at those that a check says were changed.", 0, 0,
         accept},
        {"backup", "FOLDER", "Copy the book while it is in use; a later backup there only adds what is new.", 1, 1,
         back_up},
        {"restore", "FOLDER", "Make the book from a backup; a book that is there is moved aside.", 1, 1, restore,
         .makes = true},
        {"mend", "BACKUP [FILE|SHA-256]",
         "Take attachments that are missing or changed, or the one named, from a backup.", 1, 2, mend},
        {"search", "WORDS", "Find customers, decks, jobs and stock by the beginnings of words.", 1, 1, search},
        {"settings", "[key=value …]", "Set and list the shop's settings.", 0, 0, settings, .operands = true},
        {"kinds", "", "List the kinds of entry that the book keeps.", 0, 0, dw_book_entry_kinds, .makes = true},
        {"list", "KIND", "List all entries of a kind.", 1, 1, dw_book_entry_list, .json = true},
        {"show", "KIND NUMBER",
         "Show an entry: a job by its number, stock by its own, an invoice by either, else by id.", 2, 2,
         dw_book_entry_show, .json = true},
        {"add", "KIND key=value …", "Add an entry.", 1, 1, dw_book_entry_add, .operands = true, .json = true,
         .asks = true},
        {"change", "KIND NUMBER key=value …", "Change what is given.", 2, 2, dw_book_entry_change, .operands = true,
         .json = true},
        {"remove", "KIND NUMBER", "Take an entry out of the book; the journal keeps it.", 2, 2, dw_book_entry_remove},
        {"merge", "customer|deck FROM INTO", "Make one of two that are the same, by their ids.", 3, 3,
         dw_book_entry_merge},
        {"fields", "KIND", "List the keys that can be given.", 1, 1, dw_book_entry_fields, .makes = true},
        {"journal", "[KIND [NUMBER]]", "Show who changed what, and what stood there before, line by line.", 0, 2,
         journal},
        {"undo", "LINE [LAST]", "Undo a line of the journal, or all about one record from that to the last.", 1, 2,
         dw_book_entry_undo},
        {"export", "FOLDER [CUSTOMER]", "Write everything, or what is held of one customer, as JSON and CSV.", 1, 2,
         export_book},
        {"import", "FOLDER", "Take customers and decks from what another branch's book exported; none is added twice.",
         1, 1, import_book},
        {"erase", "CUSTOMER", "Erase a customer's data and keep the decks' technical history.", 1, 1, erase},
        {"due", "", "List what the retention settings say is due for deletion.", 0, 0, due},
        {NULL},
    };
    return verbs;
}

static void print_board(const DwBoard *board)
{
    for (size_t i = 0; i < board->count; i++) {
        const DwBoardRow *row = &board->rows[i];
        printf("%04lld  ", (long long)row->number);
        dw_tell_padded(stdout, dw_said(dw_job_state_word(row->state)), 20);
        printf(" %3ld d  %s, %s%s%s", row->days, row->customer, *row->deck ? row->deck : dw_said("no deck yet"),
               *row->waiting_for ? ": " : "", row->waiting_for);
        printf("%s%s", *row->place ? dw_said("  [at ") : "", row->place);
        fputs(*row->place ? "]" : "", stdout);
        if (*row->promised_on)
            dw_tell(stdout, "  promised %s%s", row->promised_on, row->overdue ? dw_said(" (overdue)") : "");
        if (*row->told_on)
            dw_tell(stdout, "  owner told %s", row->told_on);
        else
            dw_tell(stdout, "  owner not told yet");
        printf("%s%s\n", row->rush ? dw_said("  RUSH") : "", row->unsafe ? dw_said("  UNSAFE") : "");
    }
    if (board->count == 0)
        dw_tell(stdout, "No deck is in the shop.\n");
}

static DwStatus show_board(DwBookCall *call, DwMessage *message)
{
    DwBoard board;
    DwStatus status = dw_board_read(call->book, &board, message);
    if (status != DW_OK)
        return status;
    print_board(&board);
    dw_board_clear(&board);
    remind_of_backup(call);
    return DW_OK;
}

static const DwVerb *board_verbs(void)
{
    static const DwVerb verbs[] = {{"show", "", "Print the board.", 0, 0, show_board}, {NULL}};
    return verbs;
}

const DwCommand dw_command_book = {"book", "book VERB …", "Look after the job book: check, backup, search, data care.",
                                   .verbs = book_verbs, .kind_at = dw_entity_at};
const DwCommand dw_command_board = {"board", "board", "Print what every deck in the shop waits for, and since when.",
                                    .verbs = board_verbs, .usual = "show"};
