using System.Globalization;
using System.Text;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Store;
using Contracts.Store.Webhooks;
using NodaTime.Text;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>
/// An event as a CloudEvent 1.0 in its JSON format. It has no names of people and no free text: who recorded something and why stay in the
/// history. The same event has the same bytes whenever it is sent.
/// </summary>
internal static class EventMessage
{
    public const string MediaType = "application/cloudevents+json";

    /// <summary>The type of an event by its stored name, such as <c>contracts.payment_received.v1</c>; the number is that of the shape of its data.</summary>
    public static string TypeOf(string name) => $"contracts.{name}.v1";

    /// <summary>Where a store's events come from: its log's name as a URN.</summary>
    public static string SourceOf(string origin) => $"urn:contracts:store:{origin[(origin.IndexOf('/', StringComparison.Ordinal) + 1)..]}";

    /// <summary>The id of the message to one webhook; a full stop may not be in it, since it ends the id where the message is signed.</summary>
    public static string IdOf(string webhook, Telling told) => string.Create(CultureInfo.InvariantCulture, $"{webhook}_{told.Entry.Sequence}");

    /// <summary>The body.</summary>
    public static byte[] Of(string source, Telling told)
    {
        var line = HistoryLine.Alone(told.Entry);
        return Encoding.UTF8.GetBytes(AccountPrinter.Json(json =>
        {
            json.WriteStartObject();
            json.WriteString("specversion", "1.0");
            json.WriteString("id", told.Entry.Sequence.ToString(CultureInfo.InvariantCulture));
            json.WriteString("source", source);
            json.WriteString("type", TypeOf(line.Name));
            json.WriteString("subject", told.Contract);
            json.WriteString("time", InstantPattern.ExtendedIso.Format(told.Entry.At));
            json.WriteString("effectivedate", LocalDatePattern.Iso.Format(told.Entry.Event.On));
            json.WriteNumber("streamversion", told.Version);
            json.WriteString("datacontenttype", "application/json");
            json.WriteStartObject("data");
            Data(json, line);
            json.WriteEndObject();
            json.WriteEndObject();
        }));
    }

    /// <summary>The members of the history, less the two that people fill in (`by`, `reason`) and the one that changes later (`overtaken`).</summary>
    private static void Data(Utf8JsonWriter json, HistoryLine line)
    {
        json.WriteNumber("sequence", line.Entry.Sequence);
        json.WriteString("on", LocalDatePattern.Iso.Format(line.Entry.Event.On));
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(line.Entry.At));
        json.WriteString("event", line.Name);
        json.WriteString("says", line.What);
        if (line.Money is { } money) { json.WriteString("money", money.ToString()); }
        if (line.Entry.Cause is { } cause) { json.WriteString("cause", cause); }
        json.WriteString("key", line.Entry.Key);
    }
}
