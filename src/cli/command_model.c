// SPDX-License-Identifier: MIT
// The library of models: what is known of a make and model, from this shop's decks and from other shops.
#include "base/json_text.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/model/known.h"
#include "book/model/share.h"
#include "book/shop/deck.h"
#include "book/store/bound.h"
#include "chart/draw/whole_file.h"
#include "cli/book_call.h"
#include "cli/tell.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static DwStatus add(DwBookCall *call, DwMessage *message)
{
    DwModel model;
    dw_record_init(&model.record, &dw_model_entity);
    return dw_book_call_add(call, &model.record, message);
}

static DwStatus list(DwBookCall *call, DwMessage *message)
{
    static const char *const columns[] = {"make", "name", "drive", "class", NULL};
    return dw_book_call_list(call, &dw_model_entity, columns, message);
}

static DwStatus change(DwBookCall *call, DwMessage *message)
{
    DwModel model;
    dw_record_init(&model.record, &dw_model_entity);
    if (!call->operand_count)
        return dw_fail(message, DW_BAD_INPUT,
                       "Say what to change, such as drive=belt. 'deckwright model fields' lists "
                       "the keys.");
    return dw_book_call_write(call, &model.record, call->words[0], message);
}

static void print_knowns(const DwModelKnowns *knowns, DwModelAbout about, const char *title)
{
    bool any = false;
    for (size_t i = 0; i < knowns->count; i++) {
        const DwModelKnown *known = &knowns->items[i];
        if (known->about != about)
            continue;
        if (!any)
            printf("%s\n", dw_said(title));
        any = true;
        char *origin = dw_model_known_origin(known, dw_tongue_of_program());
        fputs("  ", stdout);
        dw_tell_padded(stdout, dw_said(known->label), 32);
        printf(" %s (%s)\n", known->value, origin);
        free(origin);
    }
}

static DwStatus print_faults(DwBook *book, int64_t model, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_record_list(book, &dw_model_fault_entity, "model_id", model, &records, message);
    if (status != DW_OK)
        return status;
    if (records.count)
        dw_tell(stdout, "Usual faults\n");
    for (size_t i = 0; i < records.count; i++) {
        const DwModelFault *fault = (const DwModelFault *)dw_records_at(&records, i);
        printf("  %s", fault->fault);
        if (fault->remedy && *fault->remedy)
            printf(": %s", fault->remedy);
        if (fault->seen)
            dw_tell(stdout, " (%lld deck%s)", (long long)fault->seen, fault->seen == 1 ? "" : "s");
        printf("%s%s\n", fault->shared_by && *fault->shared_by ? dw_said(", shared by ") : "",
               fault->shared_by ? fault->shared_by : "");
    }
    dw_records_clear(&records);
    return DW_OK;
}

static void print_end(const char *word, double value)
{
    if (isfinite(value))
        dw_tell(stdout, " %s %g", dw_said(word), value);
}

static DwStatus print_limits(DwBook *book, int64_t model, DwMessage *message)
{
    DwRecords records;
    DwStatus status = dw_model_limits(book, model, &records, message);
    if (status != DW_OK)
        return status;
    if (records.count)
        dw_tell(stdout, "Limits of this model\n");
    for (size_t i = 0; i < records.count; i++) {
        const DwBound *bound = (const DwBound *)dw_records_at(&records, i);
        printf("  %s", bound->key);
        print_end(N_("from"), bound->low);
        print_end(N_("to"), bound->high);
        print_end(N_("good from"), bound->good_low);
        print_end(N_("good to"), bound->good_high);
        printf(" (%s)\n", dw_said_label(bound->source));
    }
    dw_records_clear(&records);
    return DW_OK;
}

// What the library knows beside the model's own fields.
static DwStatus print_known(DwBook *book, int64_t model, DwMessage *message)
{
    DwModelKnowns knowns;
    int64_t decks = 0;
    DwStatus status = dw_model_known_read(book, model, &knowns, message);
    if (status != DW_OK)
        return status;
    status = dw_model_decks(book, model, &decks, message);
    if (status == DW_OK) {
        fputs("  ", stdout);
        dw_tell_padded(stdout, dw_said("Decks in the book"), 26);
        printf(" %lld\n", (long long)decks);
    }
    print_knowns(&knowns, DW_MODEL_BUILD, N_("How it is built"));
    print_knowns(&knowns, DW_MODEL_READING, N_("What such decks measure as they leave"));
    dw_model_knowns_clear(&knowns);
    if (status == DW_OK)
        status = print_faults(book, model, message);
    return status == DW_OK ? print_limits(book, model, message) : status;
}

static char *known_json(const DwModelKnowns *knowns)
{
    static const char *const origins[] = {"stated", "measured", "shared"};
    DwJsonText json = {0};
    dw_json_text_begin(&json, NULL, '[');
    for (size_t i = 0; i < knowns->count; i++) {
        const DwModelKnown *known = &knowns->items[i];
        dw_json_text_begin(&json, NULL, '{');
        dw_json_text_word(&json, "about", known->about == DW_MODEL_BUILD ? "build" : "reading");
        dw_json_text_word(&json, "origin", origins[known->origin]);
        dw_json_text_word(&json, "key", known->key);
        dw_json_text_word(&json, "label", known->label);
        dw_json_text_word(&json, "value", known->value);
        dw_json_text_count(&json, "decks", known->decks);
        dw_json_text_number(&json, "low", known->low, 6);
        dw_json_text_number(&json, "high", known->high, 6);
        dw_json_text_word(&json, "unit", known->unit);
        dw_json_text_word(&json, "source", known->source);
        dw_json_text_word(&json, "shared_by", known->shared_by);
        dw_json_text_end(&json, '}');
    }
    dw_json_text_end(&json, ']');
    return dw_json_text_take(&json);
}

static DwStatus print_json(DwBookCall *call, const DwModel *model, DwMessage *message)
{
    DwModelKnowns knowns;
    DwRecords faults;
    DwStatus status = dw_model_known_read(call->book, model->record.id, &knowns, message);
    if (status != DW_OK)
        return status;
    status = dw_record_list(call->book, &dw_model_fault_entity, "model_id", model->record.id, &faults, message);
    if (status == DW_OK) {
        char *record = dw_record_json_write(call->book, &model->record), *known = known_json(&knowns);
        printf("{\"model\":%s,\"known\":%s,\"faults\":[", record, known);
        for (size_t i = 0; i < faults.count; i++) {
            char *fault = dw_record_json_write(call->book, dw_records_at(&faults, i));
            printf("%s%s", i ? "," : "", fault);
            free(fault);
        }
        puts("]}");
        free(record);
        free(known);
        dw_records_clear(&faults);
    }
    dw_model_knowns_clear(&knowns);
    return status;
}

static DwStatus show(DwBookCall *call, DwMessage *message)
{
    DwModel model;
    int64_t id = 0;
    dw_record_init(&model.record, &dw_model_entity);
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    if (status == DW_OK)
        status = dw_record_load(call->book, &model.record, id, message);
    if (status == DW_OK && call->json)
        status = print_json(call, &model, message);
    else if (status == DW_OK) {
        dw_book_call_print(call, &model.record);
        status = print_known(call->book, id, message);
    }
    dw_record_clear(&model.record);
    return status;
}

// Notes quantities of the catalogue: `model note 3 drive.pulley_diameter=12.1mm source=manual`.
static DwStatus note(DwBookCall *call, DwMessage *message)
{
    int64_t id = 0;
    const char *source = dw_book_call_operand(call, "source");
    DwModel model;
    dw_record_init(&model.record, &dw_model_entity);
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    if (status == DW_OK)
        status = dw_record_load(call->book, &model.record, id, message);
    dw_record_clear(&model.record);
    if (status == DW_OK && call->operand_count == (source ? 1u : 0u))
        status = dw_fail(message, DW_BAD_INPUT, "Say what is known, such as drive.pulley_diameter=12.1mm.");
    if (status == DW_OK)
        status = dw_book_begin(call->book, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; i < call->operand_count && status == DW_OK; i++) {
        char *key = dw_memory_text(call->operands[i]);
        size_t length = strcspn(key, "=");
        key[length] = '\0';
        if (strcmp(key, "source") != 0)
            status = dw_model_note(call->book, id, key, key + length + 1, source, message);
        free(key);
    }
    status = dw_book_end(call->book, status, message);
    return status == DW_OK ? print_known(call->book, id, message) : status;
}

static DwStatus note_fault(DwBookCall *call, DwMessage *message)
{
    DwModelFault fault;
    dw_record_init(&fault.record, &dw_model_fault_entity);
    DwStatus status = dw_book_call_number(call->words[0], &fault.model_id, message);
    if (status == DW_OK)
        return dw_book_call_add(call, &fault.record, message);
    dw_record_clear(&fault.record);
    return status;
}

static DwStatus export(DwBookCall *call, DwMessage *message)
{
    int64_t id = 0;
    char *text = NULL;
    DwStatus status = dw_book_call_number(call->words[0], &id, message);
    if (status == DW_OK)
        status = dw_destination_check("The file", call->words[1], message);
    if (status == DW_OK && access(call->words[1], F_OK) == 0)
        status = dw_fail(message, DW_BAD_INPUT, "%s is there already and is not overwritten. Give another name.",
                         call->words[1]);
    if (status == DW_OK)
        status = dw_share_write(call->book, id, &text, message);
    if (status == DW_OK)
        status = dw_whole_file_write(call->words[1], text, strlen(text), message);
    if (status == DW_OK)
        dw_tell(stdout,
                "%s holds what this shop knows of the model, and nothing of a customer, job or serial. Read its notes "
                "and faults before you give it away.\n",
                call->words[1]);
    free(text);
    return status;
}

static void print_count(size_t count, const char *one, const char *many, const char *before)
{
    printf("%s%zu %s", before, count, dw_said(count == 1 ? one : many));
}

static DwStatus import(DwBookCall *call, DwMessage *message)
{
    DwKeyfile file;
    DwShareTaken taken;
    DwStatus status = dw_keyfile_read(call->words[0], &file, message);
    if (status != DW_OK)
        return status;
    status = dw_share_read(call->book, &file, call->words[0], &taken, message);
    dw_keyfile_clear(&file);
    if (status != DW_OK)
        return status;
    dw_tell(stdout, "Model %lld %s: ", (long long)taken.model,
            taken.added ? dw_said("is new in the library") : dw_said("was there"));
    print_count(taken.builds, N_("quantity"), N_("quantities"), "");
    print_count(taken.readings, N_("reading"), N_("readings"), ", ");
    print_count(taken.faults, N_("fault"), N_("faults"), ", ");
    print_count(taken.limits, N_("limit"), N_("limits"), ", ");
    dw_tell(stdout, " taken.\n");
    if (taken.limits_left)
        dw_tell(stdout,
                taken.limits_left == 1
                    ? "%zu of its limits was not taken: there is one here for the same reading, and it stays.\n"
                    : "%zu of its limits were not taken: there is one here for each of these readings, and it stays.\n",
                taken.limits_left);
    return DW_OK;
}

static DwStatus fields(DwBookCall *call, DwMessage *message)
{
    (void)call;
    (void)message;
    dw_book_call_print_fields(&dw_model_entity);
    dw_tell(stdout, "Quantities that 'model note' takes, beside source:\n");
    for (size_t i = 0; dw_model_key(i); i++)
        printf("  %-28s %s\n", dw_model_key(i), dw_said(dw_quantity_find(dw_model_key(i))->label));
    dw_tell(stdout, "Of 'model fault':\n");
    dw_book_call_print_fields(&dw_model_fault_entity);
    return DW_OK;
}

// A second deck of one kind is worth a model.
static DwStatus offer_new_model(DwBook *book, int64_t id, DwMessage *message)
{
    int64_t others = 0;
    DwDeck deck;
    dw_record_init(&deck.record, &dw_deck_entity);
    DwStatus status = dw_record_load(book, &deck.record, id, message);
    if (status == DW_OK)
        status = dw_model_others(book, id, &others, message);
    if (status == DW_OK && others)
        dw_tell(stdout,
                "The book has %lld more of this make and model. 'deckwright model add make=\"%s\" name=\"%s\"' makes "
                "what was learnt on them available for the next.\n",
                (long long)others, deck.make, deck.model);
    dw_record_clear(&deck.record);
    return status;
}

DwStatus dw_book_call_offer_model(DwBookCall *call, int64_t deck, DwMessage *message)
{
    DwModel model;
    int64_t id = 0;
    DwStatus status = dw_model_of_deck(call->book, deck, &id, message);
    if (status == DW_OK && !id)
        return offer_new_model(call->book, deck, message);
    if (status != DW_OK)
        return status;
    dw_record_init(&model.record, &dw_model_entity);
    status = dw_record_load(call->book, &model.record, id, message);
    if (status == DW_OK) {
        dw_tell(stdout,
                "The library knows %s %s (model %lld). Where the deck itself says nothing, measuring on its jobs takes "
                "from there:\n",
                model.make, model.name, (long long)id);
        status = print_known(call->book, id, message);
    }
    dw_record_clear(&model.record);
    return status;
}

static const DwVerb *model_verbs(void)
{
    static const DwVerb verbs[] = {
        {"list", "", "List all models.", 0, 0, list, .json = true},
        {"show", "NUMBER", "Show a model, what its decks told and what other shops shared.", 1, 1, show, .json = true},
        {"add", "make=… name=… [key=value …]", "Add a model.", 0, 0, add, .operands = true, .json = true},
        {"change", "NUMBER key=value …", "Change what is given.", 1, 1, change, .operands = true, .json = true},
        {"note", "NUMBER key=value … [source=…]", "Note how it is built, by a manual, a plate or a caliper.", 1, 1,
         note, .operands = true},
        {"fault", "NUMBER fault=… [remedy=…] [seen=DECKS]", "Note a usual fault and what mends it.", 1, 1, note_fault,
         .operands = true, .json = true},
        {"export", "NUMBER FILE", "Write what this shop knows of it for another shop.", 2, 2, export},
        {"import", "FILE", "Take in what another shop wrote.", 1, 1, import},
        {"fields", "", "List the keys that can be given.", 0, 0, fields},
        {NULL},
    };
    return verbs;
}

const DwCommand dw_command_model = {"model", "model VERB …", "Keep what is known of a make and model of deck.",
                                    .verbs = model_verbs, .own = &dw_model_entity};
