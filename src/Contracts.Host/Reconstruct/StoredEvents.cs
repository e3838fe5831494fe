using Contracts.Agreements;
using Contracts.History;
using Contracts.Store;
using Contracts.Store.Json;
using NodaTime.Text;

namespace Contracts.Host.Reconstruct;

/// <summary>The events of a contract as they are stored: the name, the data, and who, why and under which key.</summary>
internal static class StoredEvents
{
    /// <summary>The events as one JSON list, in the order of recording.</summary>
    /// <param name="history">The contract.</param>
    /// <param name="households">Whether the household's reference is shown; else it reads <c>not shown</c>.</param>
    public static string Json(ContractHistory history, bool households) => AccountPrinter.Json(json =>
    {
        json.WriteStartArray();
        foreach (var entry in history.Entries)
        {
            json.WriteStartObject();
            json.WriteNumber("sequence", entry.Sequence);
            json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(entry.At));
            json.WriteString("event", EventNames.Of(entry.Event));
            json.WriteString("key", entry.Key);
            if (entry.Actor is { } by) { json.WriteString("by", by); }
            if (entry.Reason is { } reason) { json.WriteString("reason", reason); }
            if (entry.Cause is { } cause) { json.WriteString("cause", cause); }
            if (entry.Approved is { } approved) { json.WriteString("approvedBy", approved); }
            if (entry.Trace is { } trace) { json.WriteString("trace", trace); }
            json.WritePropertyName("data");
            json.WriteRawValue(Data(entry.Event, households));
            json.WriteEndObject();
        }

        json.WriteEndArray();
    });

    /// <summary>An event's data; for whom it is not, without the household's reference.</summary>
    public static byte[] Data(ContractEvent fact, bool households) =>
        EventJson.Write(fact is ContractEvent.Signed signed && !households ? signed with { Household = "not shown" } : fact);
}
