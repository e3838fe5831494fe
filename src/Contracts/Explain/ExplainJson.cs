using System.Text.Json;
using Contracts.History;
using NodaTime.Text;

namespace Contracts.Explain;

/// <summary>Writes trees in the fixed shape of docs/interface.md: same order, same spelling, always.</summary>
public static class ExplainJson
{
    /// <summary>One node with everything under it.</summary>
    public static void Write(Utf8JsonWriter json, ExplainNode node)
    {
        json.WriteStartObject();
        json.WriteString("figure", node.Figure);
        json.WriteString("value", node.Value);
        json.WriteString("rule", node.Rule);
        json.WriteString("citation", node.Citation);
        json.WritePropertyName("event");
        WriteEvent(json, node.Event);
        json.WriteStartArray("parts");
        foreach (var part in node.Parts) { Write(json, part); }
        json.WriteEndArray();
        json.WriteEndObject();
    }

    /// <summary>An event by its place in the order of recording, its two dates and its key; null where there is none.</summary>
    internal static void WriteEvent(Utf8JsonWriter json, Recorded? fact)
    {
        if (fact is null)
        {
            json.WriteNullValue();
            return;
        }

        json.WriteStartObject();
        json.WriteNumber("sequence", fact.Sequence);
        json.WriteString("on", LocalDatePattern.Iso.Format(fact.Event.On));
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(fact.At));
        json.WriteString("key", fact.Key);
        json.WriteEndObject();
    }
}
