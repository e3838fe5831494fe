using System.Globalization;
using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Host.Counter;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;
using Microsoft.AspNetCore.Http.Timeouts;
using NodaTime;
using NodaTime.Text;
using Wolverine;

namespace Contracts.Host.Serving.Api;

/// <summary>Commands, one at a time: the shape of a line of a command file in, what became of it out.</summary>
internal static class CommandEndpoints
{
    /// <summary>The header that repeats, or stands for, the command's key.</summary>
    public const string KeyHeader = "Idempotency-Key";

    /// <summary>What waits in the queue lies in the database as it came, where no personal data may be.</summary>
    private static readonly Refusal NotQueued = new(
        RefusalCode.PersonalFactRefused, "Personal data is not taken into the queue; send it to /v1/commands.", "facts");

    /// <summary>Whoever approves or closes must know what came of it.</summary>
    private static readonly Refusal NotLater = new(
        RefusalCode.FieldInvalid, "An approval or a close is not taken into the queue; send it to /v1/commands.", "do");

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapDoor(Doors.Commands, ApplyAsync);
        routes.MapDoor(Doors.Queue, QueueAsync);
    }

    /// <summary>Applies one command now and answers with what became of it.</summary>
    private static async Task<IResult> ApplyAsync(HttpContext context, IMessageBus bus, ContractsStore store, ApiSettings settings, CancellationToken stop)
    {
        var (read, _, against) = await ReadAsync(context, store, settings, stop);
        if (read is null) { return against!; }
        if (!TryVersion(context.Request, read.Command, out var version)) { return ApiProblems.VersionInvalid.Result(); }
        var longest = settings.Longest;
        var closing = read.Command is Command.Approve approve && await store.Proposals.FindAsync(approve.Proposal, stop) is { Proposal.Change: Command.Close close } ? close : null;
        if (read.Command is Command.Bill or Command.Close || closing is not null)
        {
            // These go over the whole portfolio.
            context.Features.Get<IHttpRequestTimeoutFeature>()?.DisableTimeout();
            longest = settings.LongestOfMany;
        }

        var message = RequestTrace.MessageFor(new CommandRequest(read.Command, read.At, version));
        var answers = await bus.InvokeAsync<CommandAnswers>(message, stop, longest);
        if (closing is not null && answers.Results[0] is CommandResult.Applied)
        {
            // An approved close is carried out at once. When it cannot be, it stays approved, and whoever may close sends it again.
            closing = closing with { Origin = closing.Origin with { Approved = context.User.Name() } };
            answers = await bus.InvokeAsync<CommandAnswers>(RequestTrace.MessageFor(new CommandRequest(closing, read.At)), stop, longest);
        }

        return answers.Results[0] switch
        {
            CommandResult.Applied done => Outcome("applied", done.RecordedAt, done.Events),
            CommandResult.Already done => Outcome("already", done.RecordedAt, done.Events),
            CommandResult.Refused refused => Answers.Refused(refused.Refusal),
            _ => throw new System.Diagnostics.UnreachableException("No answer is written for this result."),
        };
    }

    /// <summary>Takes one command into the durable queue; it is applied even when the host stops right after.</summary>
    private static async Task<IResult> QueueAsync(HttpContext context, IMessageBus bus, ContractsStore store, ApiSettings settings, CancellationToken stop)
    {
        var (read, line, against) = await ReadAsync(context, store, settings, stop);
        if (read is null) { return against!; }
        if (context.Request.Headers.IfMatch.Count > 0) { return ApiProblems.VersionInvalid.Result(); }
        if (read.Command is Command.DescribeHousehold) { return Answers.Refused(NotQueued); }
        if (read.Command is Command.Approve or Command.Close) { return Answers.Refused(NotLater); }
        var origin = read.Command.Origin;
        await bus.PublishAsync(new CommandMessage(Encoding.UTF8.GetString(line), origin.Key, context.User.Name(), RequestTrace.Current));
        var body = AccountPrinter.Json(json =>
        {
            json.WriteStartObject();
            json.WriteString("outcome", "queued");
            json.WriteString("key", origin.Key);
            json.WriteEndObject();
        });
        return Results.Text(body + "\n", "application/json", null, StatusCodes.Status202Accepted);
    }

    /// <summary>The command of a request that may be sent by its sender, or what stands against it.</summary>
    private static async Task<(ReadCommand? Read, byte[] Line, IResult? Against)> ReadAsync(HttpContext context, ContractsStore store, ApiSettings settings, CancellationToken stop)
    {
        var (line, problem) = await Bodies.ReadAsync(context.Request, settings, stop);
        if (problem is not null) { return (null, line, problem.Result()); }
        var key = HeaderKey(context.Request);
        if (key is { Length: 0 or > 200 } || key?.Any(char.IsControl) == true)
        {
            return (null, line, Answers.Refused(new Refusal(RefusalCode.FieldInvalid, $"{KeyHeader} has 1 to 200 characters.", "key")));
        }

        var (read, refusal) = CommandReader.Read(line, key);
        if (read is null) { return (null, line, Answers.Refused(refusal!)); }
        if (key is not null && key != read.Command.Origin.Key) { return (null, line, ApiProblems.KeyDiffers.Result()); }
        if (ReservedKeys.Fault(read.Command.Origin.Key) is { } reserved) { return (null, line, Answers.Refused(reserved)); }
        var roles = CommandDoors.For(read.Name);
        if (!roles.Contains(context.User.Role()))
        {
            return (null, line, DoorKeeper.Forbidden(context, roles, $"The role {context.User.Role()} may not send the command {read.Name}."));
        }

        if (read.Command is Command.Approve approve && await store.Proposals.FindAsync(approve.Proposal, stop) is { } proposal
            && FourEyes.MayApprove(proposal) is var may && !may.Contains(context.User.Role()))
        {
            return (null, line, DoorKeeper.Forbidden(context, may, $"The role {context.User.Role()} may not approve this."));
        }

        if (read.Command is Command.Propose or Command.Approve or Command.Decline && read.Command.Origin.By is { } by && by != context.User.Name())
        {
            return (null, line, Answers.Refused(new Refusal(RefusalCode.FieldInvalid, "Who proposes and who approves is who is signed in.", "by", context.User.Name())));
        }

        // What waits in the queue is looked at now: the person who sent it is here now.
        var (command, alone) = await FourEyes.LookAsync(Signed(read.Command, context), context.User.Role(), settings.Giving, store, stop);
        return alone is null ? (read with { Command = command }, line, null) : (null, line, Answers.Refused(alone));
    }

    /// <summary>The key of the header, in quotes as the draft of the header has it or bare; null where there is none.</summary>
    private static string? HeaderKey(HttpRequest request)
    {
        if (request.Headers[KeyHeader] is not { Count: > 0 } given) { return null; }
        var text = given.ToString().Trim();
        return text is ['"', .., '"'] ? text[1..^1] : text;
    }

    /// <summary>
    /// The version of the account that the sender has looked at. The number in front of an ETag is the contract's last event; that
    /// alone decides, whatever day was looked at. `*` asks for a contract that is there, which every command on one does anyhow.
    /// </summary>
    private static bool TryVersion(HttpRequest request, Command command, out long? version)
    {
        version = null;
        if (request.Headers.IfMatch is not { Count: > 0 } given || given.ToString() == "*") { return true; }
        if (command is not (Command.OnContract or Command.Approve)) { return false; }
        var text = given.ToString().Trim();
        if (text.StartsWith("W/", StringComparison.Ordinal)) { text = text[2..]; }
        if (text is not ['"', .. var tag, '"'] || !long.TryParse(tag.Split('.')[0], NumberStyles.None, CultureInfo.InvariantCulture, out var number)) { return false; }
        version = number;
        return true;
    }

    /// <summary>A command that names nobody is its sender's.</summary>
    private static Command Signed(Command command, HttpContext context) =>
        command.Origin.By is null ? command with { Origin = command.Origin with { By = context.User.Name() } } : command;

    private static IResult Outcome(string outcome, Instant at, int events) => Answers.Json(AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        json.WriteString("outcome", outcome);
        json.WriteString("recordedAt", InstantPattern.ExtendedIso.Format(at));
        json.WriteNumber("events", events);
        json.WriteEndObject();
    }));
}
