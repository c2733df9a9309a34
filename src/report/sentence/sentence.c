// SPDX-License-Identifier: MIT
#include "report/sentence/sentence.h"

#include "base/memory.h"
#include "base/text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define ASK(question) &dw_question_##question

// In the order of the words. What a shop puts into its own words stands under the same condition.
static const DwSentence sentences[] = {
    {"paper", "received", ASK(arrived), DW_YES, NULL},
    {"paper", "booked", ASK(arrived), DW_NO, NULL},
    {"paper", "unsafe.text", ASK(unsafe), DW_YES, NULL},
    {"paper", "unsafe.told", ASK(told), DW_YES, NULL},
    {"paper", "unsafe.not_told", ASK(told), DW_NO, NULL},
    {"paper", "warranty.runs", ASK(warranty), DW_YES, NULL},
    {"paper", "warranty.to_come", ASK(warranty), DW_NO, NULL},
    {"cautions", "mains", ASK(none), DW_YES, NULL},
    {"cautions", "altered", ASK(hazard), DW_YES, "altered"},
    {"cautions", "tests", ASK(hazard), DW_YES, "tests"},
    {"cautions", "capacitors", ASK(hazard), DW_YES, "capacitors"},
    {"cautions", "heat", ASK(hazard), DW_YES, "heat"},
    {"cautions", "solvent", ASK(hazard), DW_YES, "solvent"},
    {"cautions", "strobe", ASK(hazard), DW_YES, "strobe"},
    {"cautions", "glass", ASK(hazard), DW_YES, "glass"},
    {"receipt", "visit", ASK(of_visit), DW_YES, "taken in"},
    {"receipt", "risk.stylus", ASK(risk), DW_YES, "stylus_damaged"},
    {"receipt", "risk.irreplaceable", ASK(risk), DW_YES, "irreplaceable"},
    {"receipt", "risk.courier", ASK(risk), DW_YES, "courier_damage"},
    {"receipt", "risk.dispute", ASK(risk), DW_YES, "dispute"},
    {"receipt", "accessories.nothing", ASK(accessories), DW_NOT_KNOWN, NULL},
    {"receipt", "accessories.none", ASK(risk), DW_YES, "none_other_received"},
    {"receipt", "condition.none", ASK(marks), DW_NO, NULL},
    {"receipt", "condition.unknown", ASK(marks), DW_NOT_KNOWN, NULL},
    {"receipt", "condition.plan", ASK(any), DW_YES, NULL},
    {"receipt", "photo", ASK(one), DW_YES, NULL},
    {"receipt", "photos", ASK(several), DW_YES, NULL},
    {"receipt", "declaration.list", ASK(none), DW_YES, NULL},
    {"receipt", "declaration.terms", ASK(none), DW_YES, NULL},
    {"receipt", "declaration.estimate", ASK(said), DW_YES, NULL},
    {"receipt", "declaration.storage", ASK(said), DW_YES, NULL},
    {"receipt", "declaration.photos", ASK(none), DW_YES, NULL},
    {"receipt", "declaration.publish", ASK(none), DW_YES, NULL},
    {"receipt", "collect", ASK(said), DW_YES, NULL},
    {"estimate", "state.draft", ASK(estimate), DW_YES, "draft"},
    {"estimate", "state.issued", ASK(estimate), DW_YES, "issued"},
    {"estimate", "state.accepted", ASK(estimate), DW_YES, "accepted"},
    {"estimate", "state.declined", ASK(estimate), DW_YES, "declined"},
    {"estimate", "options.text", ASK(any), DW_YES, NULL},
    {"estimate", "minimum.dear", ASK(dear), DW_YES, NULL},
    {"estimate", "recommended.dear", ASK(dear), DW_YES, NULL},
    {"estimate", "full.dear", ASK(dear), DW_YES, NULL},
    {"estimate", "ceiling", ASK(ceiling), DW_YES, NULL},
    {"estimate", "charge", ASK(charge_told), DW_YES, NULL},
    {"estimate", "charge.not_told", ASK(charge_told), DW_NO, NULL},
    {"estimate", "charge.usual", ASK(charge_told), DW_NOT_KNOWN, NULL},
    {"estimate", "choice.none", ASK(estimate), DW_YES, "issued"},
    {"invoice", "draft.text", ASK(invoice), DW_YES, "draft"},
    {"invoice", "visit", ASK(bills_others), DW_YES, NULL},
    {"invoice", "rounding", ASK(taxed), DW_YES, NULL},
    {"invoice", "unbilled.draft", ASK(billed), DW_NO, "draft"},
    {"invoice", "unbilled.issued", ASK(billed), DW_NO, "issued"},
    {"label", "unsafe", ASK(unsafe), DW_YES, NULL},
    {"label", "altered", ASK(hazard), DW_YES, "altered"},
    {"label", "glass", ASK(hazard), DW_YES, "glass"},
    {"label", "line", ASK(arrived), DW_YES, NULL},
    {"label", "line.booked", ASK(arrived), DW_NO, NULL},
    {"label", "line.screws", ASK(said), DW_YES, NULL},
    {"transport", "caution", ASK(none), DW_YES, NULL},
    {"transport", "lock.platter", ASK(lifts), DW_YES, NULL},
    {"transport", "lock.platter.unknown", ASK(lifts), DW_NOT_KNOWN, NULL},
    {"transport", "lock.belt", ASK(drive), DW_YES, "belt"},
    {"transport", "lock.idler", ASK(drive), DW_YES, "idler"},
    {"transport", "lock.direct", ASK(drive), DW_YES, "direct"},
    {"transport", "lock.other", ASK(drive_known), DW_NO, NULL},
    {"transport", "lock.unknown", ASK(drive_known), DW_NOT_KNOWN, NULL},
    {"transport", "lock.weight", ASK(none), DW_YES, NULL},
    {"transport", "lock.guard", ASK(none), DW_YES, NULL},
    {"transport", "lock.arm", ASK(none), DW_YES, NULL},
    {"transport", "lock.chassis", ASK(none), DW_YES, NULL},
    {"transport", "lock.oil", ASK(none), DW_YES, NULL},
    {"transport", "lock.cover", ASK(none), DW_YES, NULL},
    {"transport", "lock.box", ASK(none), DW_YES, NULL},
    {"transport", "undo.chassis", ASK(none), DW_YES, NULL},
    {"transport", "undo.arm", ASK(none), DW_YES, NULL},
    {"transport", "undo.belt", ASK(drive), DW_YES, "belt"},
    {"transport", "undo.idler", ASK(drive), DW_YES, "idler"},
    {"transport", "undo.direct", ASK(drive), DW_YES, "direct"},
    {"transport", "undo.other", ASK(drive_known), DW_NO, NULL},
    {"transport", "undo.unknown", ASK(drive_known), DW_NOT_KNOWN, NULL},
    {"transport", "undo.weight", ASK(none), DW_YES, NULL},
    {"transport", "undo.guard", ASK(none), DW_YES, NULL},
    {"transport", "undo.level", ASK(connect), DW_YES, NULL},
    {"transport", "undo.level.unsafe", ASK(connect), DW_NO, NULL},
    {"transport", "undo.level.unknown", ASK(connect), DW_NOT_KNOWN, NULL},
    {"transport", "care.text", ASK(none), DW_YES, NULL},
    {"notice", "ready.text", ASK(is), DW_YES, "ready"},
    {"notice", "ready.bring", ASK(receipt), DW_YES, NULL},
    {"notice", "ready.ask", ASK(is), DW_YES, "ready"},
    {"notice", "declined.text", ASK(is), DW_YES, "declined"},
    {"notice", "reminder.text", ASK(is), DW_YES, "reminder"},
    {"notice", "reminder.ask", ASK(is), DW_YES, "reminder"},
    {"notice", "storage.text", ASK(is), DW_YES, "storage"},
    {"notice", "storage.told", ASK(risk), DW_YES, "storage_charge_told"},
    {"notice", "last.text", ASK(is), DW_YES, "last"},
    {"notice", "last.storage", ASK(storage), DW_YES, NULL},
    {"notice", "free", ASK(free), DW_YES, NULL},
    {"notice", "free.over", ASK(free), DW_NO, NULL},
    {"notice", "visit.ready", ASK(of_visit), DW_YES, "ready"},
    {"notice", "visit.open", ASK(of_visit), DW_YES, "not ready"},
    {"notice", "to_pay", ASK(paid), DW_NO, NULL},
    {"service", "numbers.key", ASK(shown_before), DW_YES, NULL},
    {"service", "numbers.range", ASK(shown_limit), DW_YES, NULL},
    {"service", "answer.good", ASK(is), DW_YES, "good"},
    {"service", "answer.serviceable", ASK(is), DW_YES, "serviceable"},
    {"service", "answer.soon", ASK(is), DW_YES, "soon"},
    {"service", "answer.replace", ASK(is), DW_YES, "replace"},
    {"service", "answer.unsafe", ASK(is), DW_YES, "unsafe"},
    {"service", "answer.reading", ASK(is), DW_YES, "reading"},
    {"service", "answer.near", ASK(is), DW_YES, "near"},
    {"service", "answer.partly", ASK(is), DW_YES, "partly"},
    {"service", "answer.untested", ASK(is), DW_YES, "untested"},
    {"service", "answer.measured", ASK(is), DW_YES, "measured"},
    {"service", "answer.unknown", ASK(is), DW_YES, "unknown"},
    {"service", "done.work", ASK(operations), DW_YES, NULL},
    {"service", "done.parts", ASK(parts), DW_YES, NULL},
    {"service", "done.oiled", ASK(oiled), DW_YES, NULL},
    {"service", "done.set", ASK(set), DW_YES, NULL},
    {"service", "done.left", ASK(work_open), DW_YES, NULL},
    {"service", "done.found", ASK(only_found), DW_YES, NULL},
    {"service", "done.nothing", ASK(work_noted), DW_NO, NULL},
    {"service", "done.unknown", ASK(work_noted), DW_NOT_KNOWN, NULL},
    {"service", "untested.items", ASK(tested), DW_NO, NULL},
    {"service", "untested.measured", ASK(looked_over), DW_NO, NULL},
    {"service", "untested.nothing", ASK(looked_over), DW_NOT_KNOWN, NULL},
    {"service", "untested.none", ASK(tested), DW_YES, NULL},
    {"service", "todo.nothing", ASK(todo), DW_NO, NULL},
    {"service", "todo.beyond", ASK(beyond), DW_YES, NULL},
    {"service", "wrong.elsewhere", ASK(said), DW_YES, NULL},
    {"service", "path.leads", ASK(path_leads), DW_YES, NULL},
    {"service", "path.open", ASK(path_leads), DW_NO, NULL},
    {"service", "path.ended", ASK(said), DW_YES, NULL},
    {"service", "cost.paid", ASK(paid), DW_YES, NULL},
    {"service", "cost.due", ASK(paid), DW_NO, NULL},
    {"service", "cost.agreed", ASK(agreed), DW_YES, NULL},
    {"service", "proof.there", ASK(proof), DW_YES, NULL},
    {"service", "proof.text", ASK(proof), DW_YES, NULL},
    {"service", "proof.none", ASK(proof), DW_NO, NULL},
    {"service", "proof.unknown", ASK(proof), DW_NOT_KNOWN, NULL},
    {"service", "measurements.text", ASK(measured), DW_YES, NULL},
    {"service", "taken.before", ASK(said), DW_YES, NULL},
    {"service", "taken.after", ASK(said), DW_YES, NULL},
    {"service", "taken.speed", ASK(said), DW_YES, NULL},
    {"service", "taken.arm", ASK(said), DW_YES, NULL},
    {"service", "taken.record", ASK(said), DW_YES, NULL},
    {"service", "taken.chain", ASK(said), DW_YES, NULL},
    {"service", "taken.instrument", ASK(said), DW_YES, NULL},
    {"service", "taken.sums", ASK(is), DW_YES, "sums"},
    {"service", "taken.unsaid", ASK(is), DW_YES, "unsaid"},
    {"service", "taken.by", ASK(said), DW_YES, NULL},
    {"service", "taken.aim", ASK(is), DW_YES, "aim"},
    {"service", "check.valid", ASK(check), DW_YES, "valid"},
    {"service", "check.never", ASK(check), DW_YES, "never"},
    {"service", "check.overdue", ASK(check), DW_YES, "overdue"},
    {"service", "check.failed", ASK(check), DW_YES, "failed"},
    {"service", "sources", ASK(said), DW_YES, NULL},
    {"service", "doubtful", ASK(doubtful), DW_YES, NULL},
    {"service", "not_comparable", ASK(compared), DW_NO, NULL},
    {"service", "setup.text", ASK(settings), DW_YES, NULL},
    {"service", "charts.text", ASK(lines_drawn), DW_YES, NULL},
    {"service", "next_due", ASK(said), DW_YES, NULL},
    {"service", "limits.text", ASK(measured), DW_YES, NULL},
    {"readings", "speed.error", ASK(reading), DW_YES, "speed.error~good"},
    {"readings", "speed.error.good", ASK(reading), DW_YES, "speed.error=good"},
    {"readings", "speed.drift.good", ASK(reading), DW_YES, "speed.drift=good"},
    {"readings", "speed.drift", ASK(reading), DW_YES, "speed.drift!good"},
    {"readings", "flutter.weighted.two_sigma.good", ASK(reading), DW_YES, "flutter.weighted.two_sigma=good"},
    {"readings", "flutter.weighted.two_sigma.serviceable", ASK(reading), DW_YES,
     "flutter.weighted.two_sigma=serviceable"},
    {"readings", "flutter.weighted.two_sigma", ASK(reading), DW_YES, "flutter.weighted.two_sigma!good|serviceable"},
    {"readings", "flutter.weighted.quasi_peak.good", ASK(reading), DW_YES, "flutter.weighted.quasi_peak=good"},
    {"readings", "flutter.weighted.quasi_peak", ASK(reading), DW_YES, "flutter.weighted.quasi_peak!good"},
    {"readings", "force.tracking_g.good", ASK(makers_range), DW_YES, "force.tracking_g=good"},
    {"readings", "force.tracking_g.serviceable", ASK(makers_range), DW_YES, "force.tracking_g=serviceable"},
    {"readings", "force.tracking_g", ASK(makers_range), DW_NO, "force.tracking_g"},
    {"readings", "resonance.lateral.good", ASK(reading), DW_YES, "resonance.lateral=good"},
    {"readings", "resonance.lateral.serviceable", ASK(reading), DW_YES, "resonance.lateral=serviceable"},
    {"readings", "resonance.lateral", ASK(reading), DW_YES, "resonance.lateral!good|serviceable"},
    {"readings", "resonance.vertical.good", ASK(reading), DW_YES, "resonance.vertical=good"},
    {"readings", "resonance.vertical", ASK(reading), DW_YES, "resonance.vertical!good"},
    {"readings", "rake.angle.good", ASK(reading), DW_YES, "rake.angle=good"},
    {"readings", "rake.angle", ASK(reading), DW_YES, "rake.angle!good"},
    {"readings", "revolution.amplitude.good", ASK(reading), DW_YES, "revolution.amplitude=good"},
    {"readings", "revolution.amplitude", ASK(reading), DW_YES, "revolution.amplitude!good"},
    {"readings", "good", ASK(class), DW_YES, "=good"},
    {"readings", "good.other", ASK(class), DW_NO, "=good"},
    {"readings", "good.any", ASK(class), DW_NOT_KNOWN, "=good"},
    {"readings", "serviceable", ASK(class), DW_YES, "=serviceable"},
    {"readings", "serviceable.other", ASK(class), DW_NO, "=serviceable"},
    {"readings", "serviceable.any", ASK(class), DW_NOT_KNOWN, "=serviceable"},
    {"readings", "cannot tell", ASK(reading), DW_YES, "=cannot tell"},
    {"readings", "attention soon", ASK(class), DW_YES, "=attention soon"},
    {"readings", "attention soon.other", ASK(class), DW_NO, "=attention soon"},
    {"readings", "attention soon.any", ASK(class), DW_NOT_KNOWN, "=attention soon"},
    {"readings", "replace", ASK(reading), DW_YES, "=replace"},
    {"readings", "unsafe", ASK(reading), DW_YES, "=unsafe"},
    {"readings", "none", ASK(reading), DW_YES, "=none"},
};

const DwSentence *dw_sentence_at(size_t index)
{
    return index < sizeof sentences / sizeof *sentences ? &sentences[index] : NULL;
}

const DwSentence *dw_sentence_find(const char *group, const char *key)
{
    // Asked for every word of a paper: the first letter parts most of them.
    for (size_t i = 0; i < sizeof sentences / sizeof *sentences; i++)
        if (*sentences[i].key == *key && strcmp(sentences[i].key, key) == 0 && strcmp(sentences[i].group, group) == 0)
            return &sentences[i];
    return NULL;
}

bool dw_sentence_stands(const DwDossier *dossier, const char *group, const char *key, const void *about)
{
    const DwSentence *sentence = dw_sentence_find(group, key);
    // A reading that only a shop has is spoken of as the shop says, with no question of its own.
    if (!sentence)
        return strcmp(group, "readings") == 0;
    return sentence->question->ask(dossier, about, sentence->word) == sentence->stands;
}

char *dw_sentence(const DwDossier *dossier, const char *group, const char *key, const void *about, ...)
{
    char *text = dw_memory_text(
        dw_sentence_stands(dossier, group, key, about) ? dw_paper_words_say(dossier->words, group, key) : "");
    va_list list;
    va_start(list, about);
    for (const char *name; (name = va_arg(list, const char *));) {
        const char *value = va_arg(list, const char *);
        char *place = dw_text_format("{%s}", name);
        bool hole = (!value || !*value) && strstr(text, place);
        char *filled = hole ? dw_memory_text("") : dw_text_replace(text, name, value ? value : "");
        free(place);
        free(text);
        text = filled;
    }
    va_end(list);
    return text;
}
