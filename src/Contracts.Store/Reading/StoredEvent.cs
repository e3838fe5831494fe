using System.Text.Json;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Store.Json;
using NodaTime;

namespace Contracts.Store.Reading;

/// <summary>An event as the database keeps it: its columns, its headers, and how it is read back.</summary>
internal static class StoredEvent
{
    public const string Columns = "e.stream_id, e.seq_id, e.timestamp, e.type, e.data, e.headers";

    /// <summary>Whether a stream is a contract: tax rates and Marten's own marks have signs that no contract's id may have.</summary>
    public static bool IsContractId(string stream) => !stream.AsSpan().ContainsAny(':', '_');

    /// <summary>What a header is called in the stored JSON; frozen like the event names.</summary>
    public const string Key = "key";
    public const string Actor = "actor";
    public const string Reason = "reason";
    public const string Cause = "cause";
    public const string Approved = "approved";
    public const string Trace = "trace";

    public static Recorded Read(
        long sequence, Instant at, ReadOnlySpan<byte> type, ReadOnlySpan<byte> data, ReadOnlySpan<byte> headers)
    {
        if (EventJson.Read(type, data) is not ContractEvent fact)
        {
            throw new StoreException($"Event {sequence} is of a kind that no contract has.");
        }

        string? key = null, actor = null, reason = null, cause = null, approved = null, trace = null;
        if (!headers.IsEmpty)
        {
            var reader = new Utf8JsonReader(headers);
            while (reader.Read())
            {
                if (reader.TokenType != JsonTokenType.PropertyName) { continue; }
                if (reader.ValueTextEquals("key"u8)) { key = Next(ref reader); }
                else if (reader.ValueTextEquals("actor"u8)) { actor = Next(ref reader); }
                else if (reader.ValueTextEquals("reason"u8)) { reason = Next(ref reader); }
                else if (reader.ValueTextEquals("cause"u8)) { cause = Next(ref reader); }
                else if (reader.ValueTextEquals("approved"u8)) { approved = Next(ref reader); }
                else if (reader.ValueTextEquals("trace"u8)) { trace = Next(ref reader); }
            }
        }

        return new Recorded(
            fact, sequence, at, key ?? throw new StoreException($"Event {sequence} has no command key."), actor, reason, cause, approved, trace);
    }

    private static string? Next(ref Utf8JsonReader reader)
    {
        reader.Read();
        return reader.GetString();
    }
}
