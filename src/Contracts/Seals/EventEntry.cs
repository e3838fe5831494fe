using NodaTime;
using NodaTime.Text;

namespace Contracts.Seals;

/// <summary>
/// An event of the history as the log commits to it. Nothing personal is in it: payload and headers are digests of their
/// canonical JSON, the ids are opaque. <see cref="Previous"/> is the leaf of the version before in the same stream, so
/// that the last leaf of a stream commits to all of it.
/// </summary>
public sealed record EventEntry : LogEntry
{
    internal const string Word = "event";

    public override string Kind => Word;

    /// <summary>The origin of the log.</summary>
    public required string Log { get; init; }

    public required string Tenant { get; init; }

    public required string Stream { get; init; }

    /// <summary>The place of the event in its stream, from 1.</summary>
    public required long StreamVersion { get; init; }

    /// <summary>The sequence number that the database gave.</summary>
    public required long Sequence { get; init; }

    public required Guid Id { get; init; }

    /// <summary>The stored name of the event.</summary>
    public required string Type { get; init; }

    /// <summary>The day the event is about, in the shop's zone; null where it is about none.</summary>
    public required LocalDate? EffectiveOn { get; init; }

    /// <summary>The recorded instant, in whole microseconds.</summary>
    public required Instant RecordedAt { get; init; }

    /// <summary>Who gave the command, as an opaque id; null where nobody is named.</summary>
    public required string? Actor { get; init; }

    /// <summary>The key of the command; null where there is none.</summary>
    public required string? Command { get; init; }

    /// <summary>SHA-256 of the canonical JSON of the payload.</summary>
    public required Digest Data { get; init; }

    /// <summary>SHA-256 of the canonical JSON of the headers.</summary>
    public required Digest Headers { get; init; }

    /// <summary>The leaf hash of the version before; zeros for the first.</summary>
    public required Digest Previous { get; init; }

    internal static EventEntry Of(EntryReader fields) => new()
    {
        Log = fields.Text("log"),
        Tenant = fields.Text("tenant"),
        Stream = fields.Text("stream"),
        StreamVersion = fields.Count("ver"),
        Sequence = fields.Count("seq"),
        Id = fields.Id("id"),
        Type = fields.Text("type"),
        EffectiveOn = fields.Day("eff"),
        RecordedAt = fields.At("at"),
        Actor = fields.OptionalText("actor"),
        Command = fields.OptionalText("cmd"),
        Data = fields.Hash("data"),
        Headers = fields.Hash("meta"),
        Previous = fields.Hash("prev"),
    };

    internal override void Write(EntryWriter writer)
    {
        writer.OptionalText("actor", Actor);
        writer.At("at", RecordedAt);
        writer.OptionalText("cmd", Command);
        writer.Hash("data", Data);
        writer.OptionalText("eff", EffectiveOn is { } day ? LocalDatePattern.Iso.Format(day) : null);
        writer.Text("id", Id.ToString("D"));
        writer.Text("kind", Word);
        writer.Text("log", Log);
        writer.Hash("meta", Headers);
        writer.Hash("prev", Previous);
        writer.Count("seq", Sequence);
        writer.Text("stream", Stream);
        writer.Text("tenant", Tenant);
        writer.Text("type", Type);
        writer.Version();
        writer.Count("ver", StreamVersion);
    }
}
