using System.Text.Json;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Counter;

/// <summary>What a command would do, read from the line that would do it; nothing is recorded.</summary>
/// <param name="Contract">The contract it is on.</param>
/// <param name="Name">What the line calls it, such as <c>pay</c>.</param>
/// <param name="On">The day the command is about.</param>
/// <param name="Known">Up to which moment anything is known; the command is decided as if it were given then.</param>
/// <param name="FiguresOn">The day of the figures: the command's, or the day of the decision where that is later.</param>
/// <param name="Happens">The events it would record, in their order.</param>
/// <param name="Figures">The figures that would be otherwise.</param>
internal sealed record CommandPreview(
    string Contract, string Name, LocalDate On, Instant Known, LocalDate FiguresOn, IReadOnlyList<HistoryLine> Happens, IReadOnlyList<Changed> Figures)
{
    /// <summary>The key of a line that has none: a preview needs none.</summary>
    private const string NoKey = "preview";

    // They number events, which is no news about money.
    private static readonly string[] NotShown = ["events", "lastSequence"];

    /// <summary>
    /// Reads one line of a command file; exactly one of the answers is given. A key may be left out. Only what is done on a signed contract can be
    /// looked at beforehand: what a signing comes to is a quote, and a paper is made when it is issued.
    /// </summary>
    public static (ReadCommand? Read, Refusal? Refusal) Read(ReadOnlyMemory<byte> line)
    {
        var (read, refusal) = CommandReader.Read(line, NoKey);
        if (read is null) { return (null, refusal); }
        return read.Command is Command.OnContract { Body: not (ContractCommand.Sign or ContractCommand.Issue) }
            ? (read, null)
            : (null, new Refusal(RefusalCode.FieldInvalid, $"What {read.Name} would do is not shown beforehand; only what is done on a signed contract is, and no paper.", "do"));
    }

    /// <summary>
    /// Decides the command on what was known at a moment, by the rules, terms, tax and law of then; or the refusal it would meet. Whether an
    /// instrument is free, and whether a second person is needed, is known only when it is done.
    /// </summary>
    public static async Task<(CommandPreview? Preview, Refusal? Refusal)> OfAsync(ContractsStore store, ReadCommand read, KnownAt known, CancellationToken stop)
    {
        var command = (Command.OnContract)read.Command;
        if (await store.Reader.HistoryAsync(command.Contract, known, stop).ConfigureAwait(false) is not { IsSigned: true } history)
        {
            return (null, new Refusal(RefusalCode.ContractUnknown, $"No contract {command.Contract} was signed.", "contract"));
        }

        var rates = await store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        var (preview, refusal) = Preview.Of(history, new DecisionContext(rates, known.At.InZone(Session.Zone).Date), command, known.At);
        if (preview is null) { return (null, refusal); }
        var after = Account.Of(preview.After, known.At);
        return (new CommandPreview(
            command.Contract, read.Name, command.On, known.At, after.On,
            [.. preview.Outcomes.Select(one => HistoryLine.Alone(new Recorded(one.Event, 0, known.At, command.Origin.Key, command.Origin.By, command.Origin.Reason, one.Cause)))],
            [.. Reconstruct.Figures.Differ(Account.Of(preview.Before, known.At), after).Where(one => !NotShown.Contains(one.Figure, StringComparer.Ordinal))]), null);
    }

    /// <summary>The answer as JSON, in the shape of docs/interface.md.</summary>
    public string Json() => AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        json.WriteString("contract", Contract);
        json.WriteString("do", Name);
        json.WriteString("on", LocalDatePattern.Iso.Format(On));
        json.WriteString("known", InstantPattern.ExtendedIso.Format(Known));
        json.WriteStartArray("events");
        foreach (var line in Happens) { Write(json, line); }
        json.WriteEndArray();
        json.WriteString("figuresOn", LocalDatePattern.Iso.Format(FiguresOn));
        json.WriteStartArray("figures");
        foreach (var one in Figures)
        {
            json.WriteStartObject();
            json.WriteString("figure", one.Figure);
            json.WriteString("before", one.Then);
            json.WriteString("after", one.Now);
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    });

    private static void Write(Utf8JsonWriter json, HistoryLine line)
    {
        json.WriteStartObject();
        json.WriteString("on", LocalDatePattern.Iso.Format(line.Entry.Event.On));
        json.WriteString("event", line.Name);
        json.WriteString("says", line.What);
        if (line.Money is { } money) { json.WriteString("money", money.ToString()); }
        json.WriteEndObject();
    }
}
