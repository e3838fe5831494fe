using System.Text.Json;
using Contracts.Seals;
using Contracts.Store.Reading;
using NodaTime;
using NodaTime.Text;
using Npgsql;

namespace Contracts.Store.Seals;

/// <summary>An event's row as it is sealed and checked: what the entry says of it, from the columns and the JSON.</summary>
internal sealed record SealRow(
    long Sequence, Guid Id, string Stream, long Version, string Type, Instant At, string Tenant, byte[] Data, byte[] Headers)
{
    // The database knows times that no calendar here does; such a row is read without one, and then cannot be sealed.
    public const string Columns = "e.seq_id, e.id, e.stream_id, e.version, e.type, "
        + "case when e.timestamp between '0001-01-01Z' and '9999-12-30Z' then e.timestamp end, e.tenant_id, e.data, e.headers";

    /// <summary>How many columns they are.</summary>
    public const int Width = 9;

    private static ReadOnlySpan<byte> NoHeaders => "{}"u8;

    /// <summary>Reads the columns, the first of which is at <paramref name="first"/>.</summary>
    public static SealRow Read(NpgsqlDataReader reader, int first = 0) => new(
        reader.GetInt64(first), reader.GetGuid(first + 1), reader.IsDBNull(first + 2) ? "" : reader.GetString(first + 2), reader.GetInt64(first + 3), reader.GetString(first + 4),
        reader.IsDBNull(first + 5) ? Instant.MaxValue : reader.GetFieldValue<Instant>(first + 5),
        reader.IsDBNull(first + 6) ? "" : reader.GetString(first + 6), reader.GetFieldValue<byte[]>(first + 7),
        reader.IsDBNull(first + 8) ? NoHeaders.ToArray() : reader.GetFieldValue<byte[]>(first + 8));

    /// <summary>The entry that commits to the row, after the leaf of the version before; or why nothing can.</summary>
    public Parsed<EventEntry> Entry(string log, Digest previous)
    {
        if (!CanonicalJson.RestrictedDigest(Data).TryGet(out var data, out var fault)) { return fault with { Detail = $"data: {fault.Detail}" }; }
        if (!CanonicalJson.RestrictedDigest(Headers).TryGet(out var headers, out fault)) { return fault with { Detail = $"headers: {fault.Detail}" }; }
        if (At == Instant.MaxValue) { return new SealFault(SealFaultKind.EntryFieldInvalid, "at: The recorded time is outside the calendar."); }
        if (Tenant.Length == 0 || Type.Length == 0 || Stream.Length == 0 || Version < 1 || Sequence < 0)
        {
            return new SealFault(SealFaultKind.EntryFieldInvalid, "A column is empty or negative that never is.");
        }

        return new EventEntry
        {
            Log = log,
            Tenant = Tenant,
            Stream = Stream,
            StreamVersion = Version,
            Sequence = Sequence,
            Id = Id,
            Type = Type,
            EffectiveOn = Member(Data, "on"u8) is { } on && LocalDatePattern.Iso.Parse(on) is { Success: true } day ? day.Value : null,
            RecordedAt = At,
            Actor = Member(Headers, "actor"u8),
            Command = Member(Headers, "key"u8),
            Data = data,
            Headers = headers,
            Previous = previous,
        };
    }

    /// <summary>A member of the outermost object that is a text and not empty, or null.</summary>
    private static string? Member(byte[] json, ReadOnlySpan<byte> name)
    {
        var reader = new Utf8JsonReader(json);
        if (!reader.Read() || reader.TokenType != JsonTokenType.StartObject) { return null; }
        while (reader.Read() && reader.TokenType == JsonTokenType.PropertyName)
        {
            var isWanted = reader.ValueTextEquals(name);
            reader.Read();
            if (isWanted) { return reader.TokenType == JsonTokenType.String && reader.GetString() is { Length: > 0 } text ? text : null; }
            reader.Skip();
        }

        return null;
    }
}
