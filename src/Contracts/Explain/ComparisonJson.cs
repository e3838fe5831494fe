using System.Diagnostics;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Explain;

/// <summary>Writes comparisons in the shape of docs/interface.md: same order, same spelling, always.</summary>
public static class ComparisonJson
{
    /// <summary>A whole comparison.</summary>
    public static void Write(Utf8JsonWriter json, Comparison comparison)
    {
        json.WriteStartObject();
        json.WriteString("contract", comparison.Contract);
        json.WriteString("on", Day(comparison.From.On));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(comparison.From.Known));
        json.WriteString("withOn", Day(comparison.To.On));
        json.WriteString("withKnown", InstantPattern.ExtendedIso.Format(comparison.To.Known));
        json.WriteStartArray("figures");
        foreach (var figure in comparison.Figures) { Write(json, figure); }
        json.WriteEndArray();
        json.WriteStartArray("words");
        foreach (var word in comparison.Words)
        {
            json.WriteStartObject();
            json.WriteString("figure", word.Figure);
            json.WriteString("from", word.From);
            json.WriteString("to", word.To);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    /// <summary>The word of what made a difference.</summary>
    public static string Word(this DifferenceBy by) => by switch
    {
        DifferenceBy.Time => "time",
        DifferenceBy.Knowledge => "knowledge",
        DifferenceBy.Both => "both",
        _ => throw new UnreachableException($"No word for {by}."),
    };

    private static void Write(Utf8JsonWriter json, FigureDifference figure)
    {
        json.WriteStartObject();
        json.WriteString("figure", figure.Figure);
        Number(json, "from", figure.From, figure.IsMoney);
        Number(json, "to", figure.To, figure.IsMoney);
        Number(json, "difference", figure.To - figure.From, figure.IsMoney);
        json.WriteStartArray("because");
        foreach (var (cause, amount) in figure.Because)
        {
            json.WriteStartObject();
            Number(json, "amount", amount, figure.IsMoney);
            json.WriteString("by", cause.By.Word());
            json.WriteString("on", cause.On is { } on ? Day(on) : null);
            json.WriteString("says", cause.Says);
            json.WriteBoolean("backdated", cause.Backdated);
            json.WritePropertyName("event");
            ExplainJson.WriteEvent(json, cause.Event);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static void Number(Utf8JsonWriter json, string name, long value, bool isMoney)
    {
        if (isMoney) { json.WriteString(name, new Money(value).ToString()); }
        else { json.WriteNumber(name, value); }
    }

    private static string Day(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
