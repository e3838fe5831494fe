using System.CommandLine;
using System.CommandLine.Parsing;
using Contracts.Store;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Terminal;

/// <summary>How figures are printed.</summary>
public enum OutputFormat
{
    Table,
    Json,
    Jsonl,
    Csv,
}

/// <summary>The options that several commands share. Each is made once, so that help says the same everywhere.</summary>
public static class CommonOptions
{
    public static readonly DateTimeZone DefaultZone = DateTimeZoneProviders.Tzdb["America/New_York"];

    public static readonly Option<string?> Database = new("--database")
    {
        Description = "An Npgsql connection string; else CONTRACTS_DATABASE; else the embedded PostgreSQL.",
        Recursive = true,
    };

    public static readonly Option<string?> Data = new("--data")
    {
        Description = "The folder of the embedded PostgreSQL; else CONTRACTS_DATA; else the user's data folder.",
        Recursive = true,
    };

    public static readonly Option<string?> Format = new("--format")
    {
        Description = "table, json, jsonl or csv; a terminal gets a table, a pipe gets json.",
        Recursive = true,
        CompletionSources = { "table", "json", "jsonl", "csv" },
    };

    public static readonly Option<bool> SimulatedClock = new("--simulated-clock")
    {
        Description = "Take the recording instant from each line's `at`. For tests and the demo; a real store refuses it.",
    };

    /// <summary>The day asked about; a fresh option for each command, since defaults differ.</summary>
    public static Option<LocalDate?> On(string name = "--on") => new(name)
    {
        Description = "The day the figures are about, such as 2026-12-31; today when left out.",
        CustomParser = ReadDate,
    };

    public static Option<KnownMoment?> Known(string name = "--known") => new(name)
    {
        Description = "Up to which moment we look at what was recorded: an instant, or a day for its end; now when left out.",
        CustomParser = ReadMoment,
    };

    /// <summary>The same where a checkpoint of the seals may be given as well.</summary>
    public static Option<KnownMoment?> KnownOrCheckpoint(string name = "--known") => new(name)
    {
        Description = "What we look at: recorded up to an instant, or a day for its end; or sealed under a checkpoint, size:N or root:HASH. Now when left out.",
        CustomParser = result => IsCheckpoint(result.Tokens[0].Value) ? ParseMomentOrCheckpoint(result.Tokens[0].Value) : ReadMoment(result),
    };

    public static OutputFormat? ParseFormat(string? text) => text switch
    {
        "table" => OutputFormat.Table,
        "json" => OutputFormat.Json,
        "jsonl" => OutputFormat.Jsonl,
        "csv" => OutputFormat.Csv,
        null => Console.IsOutputRedirected ? OutputFormat.Json : OutputFormat.Table,
        _ => null,
    };

    /// <summary>A day that figures may be asked of, or null.</summary>
    public static LocalDate? ParseDay(string text) =>
        LocalDatePattern.Iso.Parse(text) is { Success: true } parsed && parsed.Value.Year is >= 1900 and <= 2200 ? parsed.Value : null;

    /// <summary>A moment up to which we look: an instant, or a day for its end; else null.</summary>
    public static KnownMoment? ParseMoment(string text)
    {
        var instant = InstantPattern.ExtendedIso.Parse(text);
        if (instant.Success) { return new KnownMoment(instant.Value, null); }
        var withOffset = OffsetDateTimePattern.ExtendedIso.Parse(text);
        if (withOffset.Success) { return new KnownMoment(withOffset.Value.ToInstant(), null); }
        var day = LocalDatePattern.Iso.Parse(text);
        return day.Success ? new KnownMoment(null, day.Value) : null;
    }

    /// <summary>The same, or a checkpoint of the seals.</summary>
    public static KnownMoment? ParseMomentOrCheckpoint(string text) => IsCheckpoint(text) ? new KnownMoment(null, null) { Checkpoint = text } : ParseMoment(text);

    private static bool IsCheckpoint(string text) => text.StartsWith("size:", StringComparison.Ordinal) || text.StartsWith("root:", StringComparison.Ordinal);

    private static LocalDate? ReadDate(ArgumentResult result)
    {
        if (ParseDay(result.Tokens[0].Value) is { } day) { return day; }
        result.AddError($"'{result.Tokens[0].Value}' is not a date such as 2026-12-31.");
        return null;
    }

    private static KnownMoment? ReadMoment(ArgumentResult result)
    {
        var text = result.Tokens[0].Value;
        if (ParseMoment(text) is { } moment) { return moment; }
        result.AddError($"'{text}' is neither an instant such as 2026-12-07T15:00:00Z nor a day such as 2026-12-07.");
        return null;
    }
}

/// <summary>A knowledge moment as typed: an instant, or a day that stands for its last moment in the shop's zone.</summary>
public sealed record KnownMoment(Instant? At, LocalDate? Day)
{
    /// <summary>A checkpoint in its place, as typed.</summary>
    public string? Checkpoint { get; init; }

    public Instant In(DateTimeZone zone) =>
        At ?? (Day!.Value.PlusDays(1).AtStartOfDayInZone(zone).ToInstant() - Duration.FromNanoseconds(1));
}
