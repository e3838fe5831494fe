using NodaTime;

namespace Contracts.Seals;

/// <summary>Why an anchor was made.</summary>
public enum AnchorReason
{
    Daily,
    MonthEnd,
    OnDemand,
}

/// <summary>
/// A commitment to all streams at once: the root and the number of their heads beside the log's own size and root just
/// before. It is itself a leaf, so that checkpoints keep their three lines.
/// </summary>
public sealed record AnchorEntry : LogEntry
{
    internal const string Word = "anchor";

    public override string Kind => Word;

    public required string Log { get; init; }

    public required Instant At { get; init; }

    public required AnchorReason Reason { get; init; }

    /// <summary>The month that is closed, such as 2026-09; null where none is.</summary>
    public required string? Period { get; init; }

    /// <summary>How many leaves the log had before this one.</summary>
    public required long Size { get; init; }

    /// <summary>The root of those leaves.</summary>
    public required Digest Root { get; init; }

    /// <summary>How many of the leaves are events.</summary>
    public required long Events { get; init; }

    /// <summary>How many streams have a head.</summary>
    public required long HeadCount { get; init; }

    /// <summary>The root of the map of heads.</summary>
    public required Digest Heads { get; init; }

    /// <summary>The digest of the rules and law packs in use.</summary>
    public required Digest Rules { get; init; }

    /// <summary>The version or commit of the program.</summary>
    public required string Build { get; init; }

    /// <summary>The version of the time zone data.</summary>
    public required string TimeZones { get; init; }

    internal static AnchorEntry Of(EntryReader fields) => new()
    {
        Log = fields.Text("log"),
        At = fields.At("at"),
        Reason = fields.Text("reason") switch
        {
            "daily" => AnchorReason.Daily,
            "month-end" => AnchorReason.MonthEnd,
            "on-demand" => AnchorReason.OnDemand,
            _ => fields.Wrong("reason", "daily, month-end or on-demand", AnchorReason.Daily),
        },
        Period = fields.OptionalText("period"),
        Size = fields.Count("size"),
        Root = fields.Hash("root"),
        Events = fields.Count("events"),
        HeadCount = fields.Count("headCount"),
        Heads = fields.Hash("heads"),
        Rules = fields.Hash("rules"),
        Build = fields.Text("build"),
        TimeZones = fields.Text("tzdb"),
    };

    internal override void Write(EntryWriter writer)
    {
        writer.At("at", At);
        writer.Text("build", Build);
        writer.Count("events", Events);
        writer.Count("headCount", HeadCount);
        writer.Hash("heads", Heads);
        writer.Text("kind", Word);
        writer.Text("log", Log);
        writer.OptionalText("period", Period);
        writer.Text("reason", Reason switch
        {
            AnchorReason.Daily => "daily",
            AnchorReason.MonthEnd => "month-end",
            AnchorReason.OnDemand => "on-demand",
            _ => throw new InvalidOperationException($"There is no word for {Reason}."),
        });
        writer.Hash("root", Root);
        writer.Hash("rules", Rules);
        writer.Count("size", Size);
        writer.Text("tzdb", TimeZones);
        writer.Version();
    }
}
