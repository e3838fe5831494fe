using System.Text.Json;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Counter;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store;
using NodaTime.Text;
using Wolverine;

namespace Contracts.Host.Serving;

/// <summary>Commands in, accounts out, over HTTP; a refusal is an RFC 9457 problem.</summary>
public static class CommandEndpoints
{
    private const int Accepted = 202;

    public static void Map(WebApplication app)
    {
        app.MapPost("/commands", ApplyAsync);
        app.MapPost("/commands/queue", QueueAsync);
        app.MapGet("/accounts/{contract}", AccountAsync);
    }

    /// <summary>Applies one command now and answers with what became of it.</summary>
    private static async Task<IResult> ApplyAsync(HttpRequest request, IMessageBus bus, CancellationToken stop)
    {
        if (await LineAsync(request, stop) is not { } line) { return Problem(TooLong); }
        var (read, refusal) = CommandReader.Read(line);
        if (read is null) { return Problem(refusal!); }
        var answers = await bus.InvokeAsync<CommandAnswers>(CommandHandler.MessageFor(new CommandRequest(read.Command, read.At)), stop);
        return answers.Results[0] switch
        {
            CommandResult.Applied done => Outcome("applied", done.RecordedAt, done.Events),
            CommandResult.Already done => Outcome("already", done.RecordedAt, done.Events),
            CommandResult.Refused refused => Problem(refused.Refusal),
            _ => throw new System.Diagnostics.UnreachableException("No answer is written for this result."),
        };
    }

    /// <summary>Takes one command into the durable queue; it is applied even when the host stops right after.</summary>
    private static async Task<IResult> QueueAsync(HttpRequest request, IMessageBus bus, CancellationToken stop)
    {
        if (await LineAsync(request, stop) is not { } line) { return Problem(TooLong); }
        var (read, refusal) = CommandReader.Read(line);
        if (read is null) { return Problem(refusal!); }
        if (read.Command is Command.DescribeHousehold) { return Problem(NotQueued); }
        await bus.PublishAsync(new CommandMessage(System.Text.Encoding.UTF8.GetString(line)));
        return Results.Text($"{{\"outcome\":\"queued\",\"key\":{JsonSerializer.Serialize(read.Command.Origin.Key)}}}", "application/json", null, Accepted);
    }

    private static async Task<IResult> AccountAsync(
        string contract, string? on, string? known, ContractsStore store, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop);
        var day = on is null ? now.InZone(Session.Zone).Date : LocalDatePattern.Iso.Parse(on) is { Success: true } d ? d.Value : default;
        var moment = known is null ? now : InstantPattern.ExtendedIso.Parse(known) is { Success: true } k ? k.Value : default;
        if (day == default) { return Problem(new Refusal(RefusalCode.DateInvalid, "`on` must be a day such as 2026-12-31.", "on")); }
        if (moment == default) { return Problem(new Refusal(RefusalCode.DateInvalid, "`known` must be an instant such as 2026-12-31T12:00:00Z.", "known")); }
        var history = await store.Reader.HistoryAsync(contract, moment, stop);
        var rates = await store.Reader.RatesAsync(moment, stop);
        return history is not null && AccountFold.At(history, rates, day) is { } state
            ? Results.Text(AccountPrinter.Json(json => AccountJson.Write(json, Account.Of(state, moment))), "application/json")
            : Problem(new Refusal(RefusalCode.ContractUnknown, "No such contract was signed by that day, as known then.", "contract"));
    }

    /// <summary>What waits in the queue lies in the database as it came, where no personal data may be.</summary>
    private static readonly Refusal NotQueued = new(
        RefusalCode.PersonalFactRefused, "Personal data is not taken into the queue; send it to /commands.", "facts");

    private static readonly Refusal TooLong = new(RefusalCode.LineTooLong, $"A command has at most {CommandReader.LongestLine} bytes.");

    /// <summary>The body, or null when it is longer than a line may be; no more than that is ever held.</summary>
    private static async Task<byte[]?> LineAsync(HttpRequest request, CancellationToken stop)
    {
        var room = new byte[CommandReader.LongestLine + 1];
        var length = await request.Body.ReadAtLeastAsync(room, room.Length, throwOnEndOfStream: false, stop);
        return length > CommandReader.LongestLine ? null : room[..length];
    }

    private static IResult Outcome(string outcome, NodaTime.Instant at, int events) => Results.Text(
        $"{{\"outcome\":\"{outcome}\",\"recordedAt\":\"{InstantPattern.ExtendedIso.Format(at)}\",\"events\":{events}}}", "application/json");

    private static IResult Problem(Refusal refusal) =>
        Results.Text(Terminal.Problem.Json(refusal), "application/problem+json", null, Terminal.Problem.Status(refusal.Code));
}
