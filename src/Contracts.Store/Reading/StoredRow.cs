using System.Text.Json;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Store.Json;
using NodaTime;

namespace Contracts.Store.Reading;

/// <summary>One event as the database gives it, not yet read.</summary>
internal readonly record struct StoredRow(long Sequence, Instant At, string Type, byte[] Data, byte[]? Headers)
{
    public const string Columns = "e.stream_id, e.seq_id, e.timestamp, e.type, e.data, e.headers";

    /// <summary>What a header is called in the stored JSON; frozen like the event names.</summary>
    public const string Key = "key";
    public const string Actor = "actor";
    public const string Reason = "reason";
    public const string Cause = "cause";

    public Recorded Read()
    {
        var fact = EventJson.Read(Type, Data) as ContractEvent
            ?? throw new StoreException($"Event {Sequence} is a '{Type}', which no contract has.");
        string? key = null, actor = null, reason = null, cause = null;
        var reader = new Utf8JsonReader(Headers);
        while (Headers is not null && reader.Read())
        {
            if (reader.TokenType != JsonTokenType.PropertyName) { continue; }
            if (reader.ValueTextEquals(Key)) { key = Next(ref reader); }
            else if (reader.ValueTextEquals(Actor)) { actor = Next(ref reader); }
            else if (reader.ValueTextEquals(Reason)) { reason = Next(ref reader); }
            else if (reader.ValueTextEquals(Cause)) { cause = Next(ref reader); }
        }

        return new Recorded(
            fact, Sequence, At, key ?? throw new StoreException($"Event {Sequence} has no command key."), actor, reason, cause);
    }

    private static string? Next(ref Utf8JsonReader reader)
    {
        reader.Read();
        return reader.GetString();
    }
}
