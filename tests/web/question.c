// SPDX-License-Identifier: MIT
// The questions of the measure room: each procedure has one, and what a form
// begins with is what the procedure takes.
#include "web/measure/question.h"

#include "support/suite.h"

#include <string.h>

START_TEST(test_each_procedure_has_a_question)
{
    const DwProcedure *procedure;
    for (size_t i = 0; (procedure = dw_procedure_at(i)); i++) {
        const DwQuestion *question = dw_question_find(procedure);
        ck_assert_msg(question->procedure != NULL, "%s is in no group of question.c", procedure->name);
        ck_assert(*question->words);
        for (size_t k = 0; k < sizeof question->first / sizeof *question->first && question->first[k]; k++)
            ck_assert_msg(dw_procedure_takes(procedure, question->first[k]), "%s does not take %s", procedure->name,
                          question->first[k]);
        for (size_t k = 0; procedure->quantities[k]; k++)
            ck_assert_msg(strcmp(dw_question_section(procedure->quantities[k]), "More") != 0, "%s has no section",
                          procedure->quantities[k]);
    }
}
END_TEST

START_TEST(test_each_question_is_answered_once)
{
    const DwQuestionGroup *group;
    for (size_t i = 0; (group = dw_question_group_at(i)); i++)
        for (size_t k = 0; k < group->count; k++) {
            const DwQuestion *question = &group->questions[k];
            const DwProcedure *procedure = dw_procedure_find(question->procedure);
            ck_assert_msg(procedure != NULL, "there is no procedure %s", question->procedure);
            ck_assert_ptr_eq(dw_question_find(procedure), question);
        }
}
END_TEST

DW_SUITE("question", test_each_procedure_has_a_question, test_each_question_is_answered_once)
