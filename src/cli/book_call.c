// SPDX-License-Identifier: MIT
#include "cli/book_call.h"

#include "base/memory.h"
#include "base/text.h"
#include "cli/options.h"

#include <stdlib.h>
#include <string.h>

// Where the book is when nobody says: a folder of the user's own data.
static char *usual_folder(void)
{
    const char *said = getenv("DECKWRIGHT_BOOK"), *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    if (said && *said)
        return dw_memory_text(said);
    if (data && *data)
        return dw_text_format("%s/deckwright-book", data);
    return dw_text_format("%s/deckwright-book", home ? home : ".");
}

DwStatus dw_book_call_open(const char *folder, const char *actor, DwBook **book, DwMessage *message)
{
    char *usual = folder ? NULL : usual_folder();
    const char *where = folder ? folder : usual;
    bool found;
    DwStatus status = dw_book_find(where, &found, message);
    if (status == DW_OK && !found)
        status = dw_fail(message, DW_BAD_INPUT, "There is no job book in %s. 'deckwright book new' starts one there.",
                         where);
    if (status == DW_OK)
        status = dw_book_open(where, book, message);
    if (!actor)
        actor = getenv("USER");
    if (status == DW_OK && actor && *actor)
        dw_book_set_actor(*book, actor);
    free(usual);
    return status;
}

// Two operands of one key would leave open which is meant.
static DwStatus take_operand(DwBookCall *call, const char *operand, DwMessage *message)
{
    size_t length = strcspn(operand, "=") + 1;
    for (size_t i = 0; i < call->operand_count; i++)
        if (strncmp(call->operands[i], operand, length) == 0)
            return dw_fail(message, DW_BAD_INPUT, "%.*s is given twice: %s and %s. Keep one.", (int)length - 1, operand,
                           call->operands[i], operand);
    call->operands[call->operand_count++] = operand;
    return DW_OK;
}

static DwStatus part(int count, char **arguments, bool writes, DwBookCall *call, const char **actor, DwMessage *message)
{
    DwOption options[] = {
        {"json", NULL, &call->json, NULL},
        {"book", &call->folder, NULL, NULL},
        {"by", actor, NULL, NULL},
        // A verb that writes no file ends the table here.
        {writes ? "out" : NULL, &call->out, NULL, NULL},
        {"paper", &call->paper, NULL, NULL},
        {"words", &call->texts, NULL, NULL},
        {0},
    };
    DwOptionWords read = {.words = dw_memory_new((size_t)count, sizeof(char *))};
    DwStatus status = dw_options_read(count, arguments, options,
                                      writes ? "--book, --by, --out, --paper and --words" : "--book, --by and --json",
                                      &read, message);
    for (size_t i = 0; i < read.count && status == DW_OK; i++) {
        const char *word = read.words[i];
        if (i < read.only && strchr(word, '=') && word[0] != '/' && word[0] != '.')
            status = take_operand(call, word, message);
        else
            call->words[call->word_count++] = word;
    }
    free(read.words);
    return status;
}

static int print_verbs(const DwCommand *command, const DwVerb *verbs, FILE *stream)
{
    fprintf(stream, "%s\n\n", command->summary);
    for (const DwVerb *verb = verbs; verb->name; verb++)
        fprintf(stream, "  deckwright %s %s%s%s\n      %s\n", command->name, verb->name, *verb->usage ? " " : "",
                verb->usage, verb->summary);
    fputs("\nOptions: --book FOLDER, --by NAME; where something is shown or listed also --json\n", stream);
    return DW_EXIT_MEASURED;
}

static DwStatus run_verb(const DwCommand *command, const DwVerb *verb, int count, char **arguments, DwBookCall *call,
                         DwMessage *message)
{
    const char *actor = NULL;
    DwStatus status = part(count, arguments, verb->writes, call, &actor, message);
    if (status == DW_OK && (call->word_count < verb->words_least || call->word_count > verb->words_most))
        status =
            dw_fail(message, DW_BAD_INPUT, "The call is: deckwright %s %s %s", command->name, verb->name, verb->usage);
    if (status == DW_OK && !call->folder)
        call->folder = call->found_folder = usual_folder();
    if (status == DW_OK && call->operand_count && !verb->operands)
        status = dw_fail(message, DW_BAD_INPUT, "%s %s takes no '%s'.", command->name, verb->name, call->operands[0]);
    if (status == DW_OK && call->json && !verb->json)
        status = dw_fail(message, DW_BAD_INPUT, "%s %s writes no JSON.", command->name, verb->name);
    if (status == DW_OK && !verb->makes)
        status = dw_book_call_open(call->folder, actor, &call->book, message);
    return status == DW_OK ? verb->run(call, message) : status;
}

int dw_book_call_run(const DwCommand *command, const DwVerb *verbs, int count, char **arguments)
{
    DwMessage message = {""};
    const char *name = count ? arguments[0] : "";
    if (!count || strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0)
        return count ? print_verbs(command, verbs, stdout) : (print_verbs(command, verbs, stderr), DW_EXIT_BAD_INPUT);
    const DwVerb *verb = verbs;
    while (verb->name && strcmp(verb->name, name) != 0)
        verb++;
    if (!verb->name)
        return dw_complain(dw_fail(&message, DW_BAD_INPUT, "%s cannot '%s'. 'deckwright %s --help' lists what it can.",
                                   command->name, name, command->name),
                           &message);
    DwBookCall call = {.words = dw_memory_new((size_t)count, sizeof(char *)),
                       .operands = dw_memory_new((size_t)count, sizeof(char *))};
    DwStatus status = run_verb(command, verb, count - 1, arguments + 1, &call, &message);
    if (status == DW_OK && call.book && dw_book_fixed(call.book))
        fprintf(stderr, "deckwright: %s\n", dw_book_fixed(call.book));
    dw_book_close(call.book);
    free(call.words);
    free(call.operands);
    free(call.found_folder);
    free(call.made);
    return status == DW_OK ? DW_EXIT_MEASURED : dw_complain(status, &message);
}

DwStatus dw_book_call_set(const DwBookCall *call, DwRecord *record, DwMessage *message)
{
    DwStatus status = DW_OK;
    for (size_t i = 0; i < call->operand_count && status == DW_OK; i++) {
        const char *equals = strchr(call->operands[i], '=');
        char *key = dw_text_format("%.*s", (int)(equals - call->operands[i]), call->operands[i]);
        status = dw_record_set(call->book, record, key, equals + 1, message);
        free(key);
    }
    return status;
}

const char *dw_book_call_operand(const DwBookCall *call, const char *key)
{
    size_t length = strlen(key);
    for (size_t i = 0; i < call->operand_count; i++)
        if (strncmp(call->operands[i], key, length) == 0 && call->operands[i][length] == '=')
            return call->operands[i] + length + 1;
    return NULL;
}

DwStatus dw_book_call_only(const DwBookCall *call, const char *const *keys, DwMessage *message)
{
    for (size_t i = 0; i < call->operand_count; i++) {
        size_t length = strcspn(call->operands[i], "="), k = 0;
        while (keys[k] && (strlen(keys[k]) != length || strncmp(keys[k], call->operands[i], length) != 0))
            k++;
        if (!keys[k])
            return dw_fail(message, DW_BAD_INPUT, "'%.*s' is not used here.", (int)length, call->operands[i]);
    }
    return DW_OK;
}

DwStatus dw_book_call_number(const char *word, int64_t *number, DwMessage *message)
{
    char *end;
    long long value = strtoll(word, &end, 10);
    if (end == word || *end || value < 1)
        return dw_fail(message, DW_BAD_INPUT, "\"%s\" is not a number of the book.", word);
    *number = value;
    return DW_OK;
}

void dw_book_call_print(const DwBookCall *call, const DwRecord *record)
{
    if (call->json) {
        char *json = dw_record_json_write(call->book, record);
        puts(json);
        free(json);
        return;
    }
    printf("%s %lld\n", record->entity->label, (long long)record->id);
    for (size_t i = 0; i < record->entity->field_count; i++) {
        const DwField *field = &record->entity->fields[i];
        char *text = dw_record_text(call->book, record, field);
        bool says_nothing = !*text || (field->kind == DW_FIELD_YES && strcmp(text, "no") == 0) ||
                            (field->kind == DW_FIELD_INTEGER && strcmp(text, "0") == 0);
        const char *unit = field->kind == DW_FIELD_RATE ? "%" : field->unit ? field->unit : "";
        if (!says_nothing)
            printf("  %-26s %s%s%s\n", field->label, text, *unit ? " " : "", unit);
        free(text);
    }
}

void dw_book_call_print_fields(const DwEntity *entity)
{
    for (size_t i = 0; i < entity->field_count; i++) {
        const DwField *field = &entity->fields[i];
        if (field->kept)
            continue;
        printf("  %-22s %s%s", field->key, field->label, field->required ? " (needed)" : "");
        if (field->unit)
            printf(", %s", field->unit);
        if (field->choices)
            printf(": %s", field->choices);
        printf("%s%s\n", field->help ? " - " : "", field->help ? field->help : "");
    }
}
