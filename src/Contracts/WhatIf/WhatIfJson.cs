using System.Text.Json;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Explain;
using Contracts.History;
using NodaTime;
using NodaTime.Text;

namespace Contracts.WhatIf;

/// <summary>Writes what would be in the shape of docs/interface.md: same order, same spelling, always.</summary>
public static class WhatIfJson
{
    /// <summary>A whole answer, with the corrections where they were looked for.</summary>
    public static void Write(Utf8JsonWriter json, WhatIfAnswer answer, Corrections? corrections)
    {
        json.WriteStartObject();
        json.WriteString("contract", answer.Question.History.Contract);
        json.WriteString("on", Day(answer.Question.On));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(answer.Question.Known));
        json.WriteString("supposed", answer.Says);
        Figures(json, "figures", answer.Figures);
        Words(json, "words", answer.Words);
        json.WritePropertyName("departure");
        Write(json, answer.Departure);
        json.WriteStartArray("charges");
        foreach (var charge in answer.Charges) { Write(json, charge); }
        json.WriteEndArray();
        json.WriteStartArray("facts");
        foreach (var fact in answer.Facts) { Write(json, fact); }
        json.WriteEndArray();
        json.WritePropertyName("corrections");
        Write(json, corrections);
        json.WriteEndObject();
    }

    /// <summary>A command as a line of a command file.</summary>
    public static string Line(Command.OnContract command) => CommandWriter.Line(command).ToJsonString();

    private static void Write(Utf8JsonWriter json, Departure? departure)
    {
        if (departure is null)
        {
            json.WriteNullValue();
            return;
        }

        json.WriteStartObject();
        json.WriteString("on", Day(departure.On));
        json.WriteString("says", departure.Says);
        json.WritePropertyName("event");
        ExplainJson.WriteEvent(json, departure.Event);
        Figures(json, "figures", departure.Figures);
        Words(json, "words", departure.Words);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, SupposedCharge charge)
    {
        json.WriteStartObject();
        json.WriteString("id", charge.Id);
        json.WriteString("on", Day(charge.On));
        json.WriteString("how", charge.How);
        json.WriteString("before", charge.Before?.ToString());
        json.WriteString("after", charge.After?.ToString());
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, QuestionedFact fact)
    {
        json.WriteStartObject();
        json.WritePropertyName("event");
        ExplainJson.WriteEvent(json, fact.Fact);
        json.WriteString("says", FactWords.Of(fact.Fact.Event));
        json.WriteString("stands", QuestionedFact.Word(fact.Standing));
        json.WritePropertyName("refusal");
        Write(json, fact.Refusal);
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, Corrections? corrections)
    {
        if (corrections is null)
        {
            json.WriteNullValue();
            return;
        }

        json.WriteStartObject();
        json.WriteBoolean("reaches", corrections.Reaches);
        json.WriteStartArray("commands");
        foreach (var command in corrections.Commands) { json.WriteRawValue(Line(command)); }
        json.WriteEndArray();
        Figures(json, "left", corrections.Left);
        Words(json, "leftWords", corrections.LeftWords);
        json.WriteStartArray("refused");
        foreach (var refused in corrections.Refused)
        {
            json.WriteStartObject();
            json.WritePropertyName("command");
            json.WriteRawValue(Line(refused.Command));
            json.WritePropertyName("refusal");
            Write(json, refused.Refusal);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void Write(Utf8JsonWriter json, Refusal? refusal)
    {
        if (refusal is null)
        {
            json.WriteNullValue();
            return;
        }

        json.WriteStartObject();
        json.WriteString("code", refusal.Slug);
        json.WriteString("detail", refusal.Detail);
        json.WriteString("rightFigure", refusal.RightFigure);
        json.WriteString("citation", refusal.Citation);
        json.WriteEndObject();
    }

    private static void Figures(Utf8JsonWriter json, string name, IEnumerable<SupposedFigure> figures)
    {
        json.WriteStartArray(name);
        foreach (var figure in figures)
        {
            json.WriteStartObject();
            json.WriteString("figure", figure.Figure);
            Number(json, "before", figure.Before, figure.IsMoney);
            Number(json, "after", figure.After, figure.IsMoney);
            Number(json, "difference", figure.After - figure.Before, figure.IsMoney);
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void Words(Utf8JsonWriter json, string name, IEnumerable<WordDifference> words)
    {
        json.WriteStartArray(name);
        foreach (var word in words)
        {
            json.WriteStartObject();
            json.WriteString("figure", word.Figure);
            json.WriteString("before", word.From);
            json.WriteString("after", word.To);
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void Number(Utf8JsonWriter json, string name, long value, bool isMoney)
    {
        if (isMoney) { json.WriteString(name, new Money(value).ToString()); }
        else { json.WriteNumber(name, value); }
    }

    private static string Day(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
