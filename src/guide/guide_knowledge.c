// SPDX-License-Identifier: MIT
#include "guide/guide_knowledge.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "guide/guide_check.h"
#include "guide/guide_read.h"
#include "guide/guide_words.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void dw_guide_trouble(DwGuideTroubles *troubles, const char *name, unsigned line, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    char *text = dw_say_in(dw_tongue_of_program(), format, arguments);
    va_end(arguments);
    troubles->lines = dw_memory_resize(troubles->lines, troubles->count + 1, sizeof *troubles->lines);
    troubles->lines[troubles->count++] =
        line ? dw_text_format("%s:%u: %s", name, line, text) : dw_text_format("%s: %s", name, text);
    free(text);
}

void dw_guide_troubles_clear(DwGuideTroubles *troubles)
{
    for (size_t i = 0; i < troubles->count; i++)
        free(troubles->lines[i]);
    free(troubles->lines);
    *troubles = (DwGuideTroubles){0};
}

DwStatus dw_guide_knowledge_read(const char *folder, DwGuideKnowledge *knowledge, DwGuideTroubles *troubles,
                                 DwMessage *message)
{
    *knowledge = (DwGuideKnowledge){0};
    const struct {
        const DwGuideTable *table;
        void **items;
        size_t *count;
    } files[] = {
        {&dw_guide_faults_table, (void **)&knowledge->faults, &knowledge->fault_count},
        {&dw_guide_tests_table, (void **)&knowledge->tests, &knowledge->test_count},
        {&dw_guide_remedies_table, (void **)&knowledge->remedies, &knowledge->remedy_count},
        {&dw_guide_symptoms_table, (void **)&knowledge->signs, &knowledge->sign_count},
        {&dw_guide_findings_table, (void **)&knowledge->signs, &knowledge->sign_count},
    };
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < sizeof files / sizeof *files; i++) {
        status = dw_guide_read(folder, files[i].table, files[i].items, files[i].count, troubles, message);
        if (files[i].table == &dw_guide_symptoms_table)
            knowledge->symptom_count = knowledge->sign_count;
    }
    if (status != DW_OK)
        return status;
    dw_guide_link(knowledge, troubles);
    dw_guide_check(knowledge, troubles);
    knowledge->ear = dw_guide_ear_new(knowledge);
    return DW_OK;
}

void dw_guide_knowledge_clear(DwGuideKnowledge *knowledge)
{
    dw_guide_ear_free(knowledge->ear);
    for (size_t i = 0; i < knowledge->fault_count; i++) {
        free(knowledge->faults[i].remedies);
        dw_guide_read_clear(&dw_guide_faults_table, &knowledge->faults[i]);
    }
    for (size_t i = 0; i < knowledge->sign_count; i++) {
        DwGuideSign *sign = &knowledge->signs[i];
        free(sign->faults);
        free(sign->chances);
        free(sign->first_tests);
        free(sign->alikes);
        free(sign->against);
        dw_guide_read_clear(i < knowledge->symptom_count ? &dw_guide_symptoms_table : &dw_guide_findings_table, sign);
    }
    for (size_t i = 0; i < knowledge->test_count; i++) {
        free(knowledge->tests[i].signs);
        free(knowledge->tests[i].against);
        dw_guide_read_clear(&dw_guide_tests_table, &knowledge->tests[i]);
    }
    for (size_t i = 0; i < knowledge->remedy_count; i++)
        dw_guide_read_clear(&dw_guide_remedies_table, &knowledge->remedies[i]);
    free(knowledge->faults);
    free(knowledge->signs);
    free(knowledge->tests);
    free(knowledge->remedies);
    *knowledge = (DwGuideKnowledge){0};
}

int dw_guide_fault_find(const DwGuideKnowledge *knowledge, const char *key)
{
    for (size_t i = 0; i < knowledge->fault_count; i++)
        if (strcmp(knowledge->faults[i].key, key) == 0)
            return (int)i;
    return -1;
}

int dw_guide_test_find(const DwGuideKnowledge *knowledge, const char *key)
{
    for (size_t i = 0; i < knowledge->test_count; i++)
        if (strcmp(knowledge->tests[i].key, key) == 0)
            return (int)i;
    return -1;
}

int dw_guide_remedy_find(const DwGuideKnowledge *knowledge, const char *key)
{
    for (size_t i = 0; i < knowledge->remedy_count; i++)
        if (strcmp(knowledge->remedies[i].key, key) == 0)
            return (int)i;
    return -1;
}

int dw_guide_sign_find(const DwGuideKnowledge *knowledge, const char *key)
{
    bool symptom = strncmp(key, "symptom.", 8) == 0;
    if (!symptom && strncmp(key, "finding.", 8) != 0)
        return -1;
    for (size_t i = 0; i < knowledge->sign_count; i++)
        if (knowledge->signs[i].symptom == symptom && strcmp(knowledge->signs[i].key, key + 8) == 0)
            return (int)i;
    return -1;
}

char *dw_guide_sign_name(const DwGuideSign *sign)
{
    return dw_text_format("%s.%s", sign->symptom ? "symptom" : "finding", sign->key);
}

double dw_guide_sign_chance(const DwGuideSign *sign, size_t fault)
{
    for (size_t i = 0; i < sign->fault_count; i++)
        if (sign->faults[i] == fault)
            return sign->chances[i];
    return 0;
}

double dw_guide_sign_own_chance(const DwGuideSign *sign, size_t fault)
{
    for (size_t i = 0; i < sign->own_count; i++)
        if (sign->faults[i] == fault)
            return sign->chances[i];
    return 0;
}
