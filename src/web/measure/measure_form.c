// SPDX-License-Identifier: MIT
#include "web/measure/measure_form.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "book/job/measurement.h"
#include "book/shop/register.h"
#include "procedure/job/job_sheet.h"
#include "web/measure/form_picture.h"
#include "web/measure/measure_field.h"
#include "web/measure/measure_recordings.h"
#include "web/measure/result.h"
#include "web/page/page.h"
#include "web/server/route.h"
#include "web/server/words.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static size_t quantity_count(const DwProcedure *procedure)
{
    size_t count = 0;
    while (procedure->quantities[count])
        count++;
    return count;
}

static bool begin_job(const DwWebRequest *request, DwMeasureForm *form, DwAnswer *refusal)
{
    DwMessage message;
    const char *number = dw_request_query(request, "job");
    if (!*number)
        return true;
    DwStatus status = dw_job_find(request->book, number, &form->job, &message);
    DwPhase phase = DW_PHASE_NONE;
    if (status == DW_OK && *form->as)
        status = dw_job_sheet_phase(form->as, &phase, &message);
    form->has_job = status == DW_OK;
    if (status == DW_OK)
        status = dw_job_sheet_prefill_beside(request->book, &form->job, phase, form->procedure, form->asked,
                                             form->known, &message);
    if (status != DW_OK)
        *refusal = dw_answer_refusal(status == DW_BAD_INPUT ? 404 : 500, dw_message_said(&message));
    return status == DW_OK;
}

// What another page knows already comes in the address: "rake.measured=92.3deg".
static void take_address(const DwWebRequest *request, DwMeasureForm *form)
{
    for (const char *const *key = form->procedure->quantities; *key; key++) {
        const char *value = dw_request_query(request, *key);
        if (*value)
            dw_inputs_set(form->known, *key, value, NULL); // what cannot be used is left for the form to ask
    }
}

// Which arm of several the form is of: chosen by its address, and carried by the form.
static void take_arm(const DwWebRequest *request, DwMeasureForm *form)
{
    const char *chosen = dw_request_query(request, DW_MEASURE_ARM), *sent = dw_request_field(request, DW_MEASURE_ARM);
    const char *arm = *sent ? sent : chosen;
    form->asked = dw_inputs_new();
    if (*arm && dw_procedure_takes(form->procedure, DW_MEASURE_ARM))
        dw_inputs_set(form->asked, DW_MEASURE_ARM, arm, NULL);
    form->arm = dw_inputs_word(form->asked, DW_MEASURE_ARM);
}

// Whether KEY says how it was measured, not which seconds were used nor what was read.
static bool is_setting(const char *key)
{
    size_t length = strlen(key);
    bool read = (length > 8 && strcmp(key + length - 8, ".reading") == 0) ||
                (length > 9 && strcmp(key + length - 9, ".measured") == 0) || strncmp(key, "found.", 6) == 0;
    return !read && strcmp(key, "record.start") != 0 && strcmp(key, "record.end") != 0 && !dw_measure_plan_is(key);
}

// Takes the settings of the sheet that is to be repeated: what was measured the same way can be compared.
static void take_same(const DwWebRequest *request, DwMeasureForm *form)
{
    DwMeasurement before;
    DwSheet *sheet = NULL;
    dw_record_init(&before.record, &dw_measurement_entity);
    bool found = dw_record_load(request->book, &before.record, dw_request_id(request, "same"), NULL) == DW_OK &&
                 form->has_job && before.job_id == form->job.record.id &&
                 strcmp(before.procedure, form->procedure->name) == 0 &&
                 dw_measurement_sheet(&before, &sheet, NULL) == DW_OK;
    if (found) {
        char day[DW_DATE_SIZE];
        dw_moment_day(before.at, day);
        form->same = before.record.id;
        dw_inputs_begin_source(form->known);
        dw_inputs_name_source(form->known, "what was measured as received", day);
        for (size_t i = 0; i < sheet->input_count; i++) {
            const DwSheetInput *input = &sheet->inputs[i];
            if (!input->given || !dw_procedure_takes(form->procedure, input->key) || !is_setting(input->key))
                continue;
            char *text = dw_text_format("%s%s%s", input->text, *input->unit ? " " : "", input->unit);
            dw_inputs_set(form->known, input->key, text, NULL);
            free(text);
        }
    }
    dw_sheet_free(sheet);
    dw_record_clear(&before.record);
}

bool dw_measure_form_begin(const DwWebRequest *request, DwMeasureForm *form, DwAnswer *refusal)
{
    const DwProcedure *procedure = dw_procedure_find(dw_request_path(request, "procedure"));
    if (!procedure) {
        *refusal = dw_answer_refusal(404, _("Nothing of that name can be measured here."));
        return false;
    }
    *form = (DwMeasureForm){.procedure = procedure,
                            .question = dw_question_find(procedure),
                            .as = dw_request_query(request, "as"),
                            .known = dw_inputs_new(),
                            .inputs = dw_inputs_new(),
                            .wrong = dw_memory_new(quantity_count(procedure), sizeof(char *))};
    dw_record_init(&form->job.record, &dw_job_entity);
    take_address(request, form);
    take_arm(request, form);
    if (begin_job(request, form, refusal)) {
        if (dw_request_id(request, "same"))
            take_same(request, form);
        return true;
    }
    dw_measure_form_clear(form);
    return false;
}

void dw_measure_form_clear(DwMeasureForm *form)
{
    for (size_t i = 0; form->wrong && form->procedure->quantities[i]; i++)
        free(form->wrong[i]);
    free(form->wrong);
    free(form->recordings);
    free(form->plan_path);
    free(form->plan_name);
    free(form->trouble);
    dw_inputs_free(form->known);
    dw_inputs_free(form->asked);
    dw_inputs_free(form->inputs);
    dw_record_clear(&form->job.record);
    *form = (DwMeasureForm){0};
}

// Puts TO wherever FROM stands in TEXT; the caller frees the result.
static char *exchange(const char *text, const char *from, const char *to)
{
    DwText out = {0};
    const char *found;
    for (; (found = strstr(text, from)); text = found + strlen(from))
        dw_text_add(&out, "%.*s%s", (int)(found - text), text, to);
    dw_text_add(&out, "%s", text);
    return dw_text_take(&out);
}

// A message at the field of KEY, which it need not name: "arm.offset: …" and "arm.offset=" lose the key.
static char *at_field(const char *message, const char *key)
{
    char *operand = dw_text_format("%s=", key);
    const char *behind = strncmp(message, key, strlen(key)) == 0 ? message + strlen(key) : message;
    size_t head = strspn(behind, " :"); // French has a blank before its colon
    const char *start = behind > message && memchr(behind, ':', head) ? behind + head : message;
    char *plain = exchange(start, operand, ""), *words = exchange(plain, key, dw_said(dw_quantity_find(key)->label));
    free(operand);
    free(plain);
    return words;
}

char *dw_measure_form_check(const DwQuantity *quantity, const char *value)
{
    DwInputs *inputs = dw_inputs_new();
    DwMessage message;
    DwStatus status = dw_inputs_set_row(inputs, quantity, value, &message);
    dw_inputs_free(inputs);
    return status == DW_OK ? NULL : at_field(dw_message_said(&message), quantity->key);
}

// Takes one value of the field INDEX, without the blanks around it; an empty one says nothing.
static void take_value(DwMeasureForm *form, size_t index, const char *value, size_t length)
{
    while (length && isspace((unsigned char)*value))
        value++, length--;
    while (length && isspace((unsigned char)value[length - 1]))
        length--;
    if (!length || form->wrong[index])
        return;
    const char *key = form->procedure->quantities[index];
    char *text = dw_text_format("%.*s", (int)length, value);
    DwMessage message;
    if (dw_inputs_set_once(form->inputs, key, text, &message) != DW_OK)
        form->wrong[index] = at_field(dw_message_said(&message), key);
    free(text);
}

// A file: only one of the bench's own, or one that was sent.
static void take_plan(const DwWebRequest *request, DwMeasureForm *form, size_t index)
{
    bool found = dw_measure_plan_find(request, form->procedure->quantities[index], &form->plan_path, &form->plan_name);
    if (!found)
        form->wrong[index] = dw_memory_text(_("There is no such plan. Choose one of the list."));
    else if (form->plan_path)
        take_value(form, index, form->plan_path, strlen(form->plan_path));
}

bool dw_measure_form_read(const DwWebRequest *request, DwMeasureForm *form)
{
    form->posted = true;
    for (size_t i = 0; form->procedure->quantities[i]; i++) {
        const char *key = form->procedure->quantities[i], *value = dw_request_field(request, key);
        if (dw_measure_plan_is(key)) {
            take_plan(request, form, i);
            continue;
        }
        bool lines = dw_quantity_find(key)->repeats;
        while (*value) {
            size_t length = lines ? strcspn(value, "\n") : strlen(value);
            take_value(form, i, value, length);
            value += length;
            value += *value != 0;
        }
    }
    return !dw_measure_form_is_wrong(form);
}

void dw_measure_form_blame(DwMeasureForm *form, const char *message)
{
    // Keys become the labels that stand on the page.
    char *words = dw_memory_text(message);
    for (size_t i = 0; form->procedure->quantities[i]; i++) {
        const char *key = form->procedure->quantities[i];
        if (!strstr(message, key))
            continue;
        if (!form->wrong[i] && strncmp(message, key, strlen(key)) == 0)
            form->wrong[i] = at_field(message, key);
        char *label = dw_text_format("“%s”", dw_said(dw_quantity_find(key)->label)),
             *operand = dw_text_format("%s=", key);
        char *bare = exchange(words, operand, ""), *next = exchange(bare, key, label);
        free(words);
        free(label);
        free(operand);
        free(bare);
        words = next;
    }
    free(form->trouble);
    form->trouble = words;
}

bool dw_measure_form_is_wrong(const DwMeasureForm *form)
{
    for (size_t i = 0; form->procedure->quantities[i]; i++)
        if (form->wrong[i])
            return true;
    return form->recordings || form->trouble;
}

char *dw_measure_form_path(const DwMeasureForm *form, const char *after)
{
    if (!form->has_job)
        return dw_text_format("/measure/%s%s", form->procedure->name, after);
    char *same = form->same ? dw_text_format("&same=%lld", (long long)form->same) : dw_memory_text("");
    char *path = dw_text_format("/measure/%s%s?job=%04lld%s%s%s", form->procedure->name, after,
                                (long long)form->job.number, *form->as ? "&as=" : "", form->as, same);
    free(same);
    return path;
}

// The register of the book that holds the names KEY may be, or NULL.
static const DwEntity *register_of(const char *key)
{
    if (strcmp(key, "record.name") == 0)
        return &dw_test_record_entity;
    return strcmp(key, "chain.name") == 0 ? &dw_chain_entity : NULL;
}

// The same name before and after is what makes two sheets comparable: it is chosen, not typed anew.
static void write_names(DwPage *page, const char *key, const DwEntity *entity)
{
    DwRecords records;
    DwMessage message;
    if (dw_record_list(page->request->book, entity, NULL, 0, &records, &message) != DW_OK)
        return;
    dw_html_open(page->html, "datalist", "id", key, NULL);
    for (size_t i = 0; i < records.count; i++) {
        char *name = dw_record_text(page->request->book, dw_records_at(&records, i), dw_field_find(entity, "name"));
        dw_html_void(page->html, "option", "value", name, NULL);
        free(name);
    }
    dw_html_close(page->html, "datalist");
    dw_records_clear(&records);
}

// Whether two values are typed alike but for the unit that stands beside the field.
static bool is_same(const DwQuantity *quantity, const char *known, const char *value)
{
    char *one = dw_measure_field_bare(quantity, known), *other = dw_measure_field_bare(quantity, value);
    bool same = strcmp(one, other) == 0;
    free(one);
    free(other);
    return same;
}

static void write_quantity(DwPage *page, const DwMeasureForm *form, size_t index)
{
    const char *key = form->procedure->quantities[index];
    const DwQuantity *quantity = dw_quantity_find(key);
    const char *known = dw_inputs_typed(form->known, key), *sent = dw_request_field(page->request, key);
    const char *value = form->posted ? sent : known ? known : "";
    if (dw_measure_plan_is(key)) {
        dw_measure_plan_write(page, key, dw_words(quantity->label), dw_words(quantity->help), sent, form->wrong[index]);
        return;
    }
    if (form->has_job && strcmp(key, DW_MEASURE_ARM) == 0) { // chosen above the form
        dw_html_void(page->html, "input", "type", "hidden", "name", key, "value", form->arm, NULL);
        return;
    }
    bool untouched = known && is_same(quantity, known, value);
    const DwEntity *names = register_of(key);
    char day[11];
    const char *from = dw_inputs_source(form->known, key, day);
    dw_measure_field_write(
        page, &(DwMeasureField){quantity, value, untouched, form->wrong[index], names ? key : NULL, from, day});
    if (names)
        write_names(page, key, names);
}

static bool same_section(const char *key, const char *other)
{
    size_t length = strcspn(key, ".");
    return length == strcspn(other, ".") && strncmp(key, other, length) == 0;
}

// The fields of the section of quantity FIRST that are not asked for at once, folded.
static void write_section(DwPage *page, const DwMeasureForm *form, size_t first)
{
    const char *const *keys = form->procedure->quantities;
    DwHtml *html = page->html;
    bool open = false;
    size_t known = 0;
    for (size_t i = first; keys[i]; i++)
        if (same_section(keys[i], keys[first]) && !dw_question_begins_with(form->question, keys[i])) {
            open |= form->wrong[i] != NULL;
            known += dw_inputs_given(form->known, keys[i]);
        }
    dw_html_open(html, "details", "open", DW_HTML_IF(open), NULL);
    dw_html_open(html, "summary", NULL);
    dw_html_text(html, dw_words(dw_question_section(keys[first])));
    if (known) {
        dw_html_open(html, "span", "class", "quiet folded", NULL);
        dw_html_format(html, _("%zu known from the book"), known);
        dw_html_close(html, "span");
    }
    dw_html_close(html, "summary");
    dw_html_open(html, "div", "class", "fields", NULL);
    for (size_t i = first; keys[i]; i++)
        if (same_section(keys[i], keys[first]) && !dw_question_begins_with(form->question, keys[i]))
            write_quantity(page, form, i);
    dw_html_close(html, "div");
    dw_html_close(html, "details");
}

static void write_sections(DwPage *page, const DwMeasureForm *form)
{
    const char *const *keys = form->procedure->quantities;
    for (size_t i = 0; keys[i]; i++) {
        bool begun = dw_question_begins_with(form->question, keys[i]);
        for (size_t k = 0; k < i && !begun; k++)
            begun = same_section(keys[k], keys[i]) && !dw_question_begins_with(form->question, keys[k]);
        if (!begun)
            write_section(page, form, i);
    }
}

void dw_measure_form_write(DwPage *page, const DwMeasureForm *form)
{
    DwHtml *html = page->html;
    char *action = dw_measure_form_path(form, ""), *check = dw_text_format("/measure/%s/check", form->procedure->name);
    if (form->trouble)
        dw_page_words(page, form->trouble, NULL, "remark wrong", true);
    else if (dw_measure_form_is_wrong(form))
        dw_html_element(html, "p",
                        form->procedure->recordings_most
                            ? _("Not measured: see the field that is marked, and choose the recording again.")
                            : _("Not computed: see the field that is marked."),
                        "class", "remark wrong", "role", "alert", NULL);
    dw_html_open(html, "div", "data-check", check, "data-wait", _("Measuring… a long recording takes a minute or two."),
                 NULL);
    dw_form_begin_files(page, action);
    dw_measure_recordings_write(page, form);
    dw_form_picture_write(page, form);
    dw_html_open(html, "div", "class", "fields", NULL);
    for (size_t i = 0; form->procedure->quantities[i]; i++)
        if (dw_question_begins_with(form->question, form->procedure->quantities[i]))
            write_quantity(page, form, i);
    dw_html_close(html, "div");
    write_sections(page, form);
    dw_html_open(html, "div", "class", "acts", NULL);
    dw_form_button(page, form->procedure->recordings_least ? _("Measure") : _("Work it out"));
    dw_html_close(html, "div");
    dw_form_end(page);
    dw_html_close(html, "div");
    free(action);
    free(check);
}

DwAnswer dw_measure_form_put_aside(const DwWebRequest *request, DwMeasureForm *form, DwSheet *sheet)
{
    DwResult result = {.procedure = form->procedure, .inputs = form->inputs, .sheet = sheet};
    form->inputs = NULL; // the result's from now on
    snprintf(result.token, sizeof result.token, "%s", request->token);
    if (form->has_job) {
        snprintf(result.job, sizeof result.job, "%04lld", (long long)form->job.number);
        snprintf(result.as, sizeof result.as, "%s", form->as);
    }
    char key[65];
    dw_results_add(request->site->results, result, key);
    return dw_answer_go("/result/%s", key);
}
