using Contracts.Agreements;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Counter;

/// <summary>Commands to be applied in order, in one transaction. The command line and messages send the same.</summary>
public sealed record ApplyCommands(IReadOnlyList<CommandRequest> Requests);

/// <summary>The answers, one for each command and in the same order.</summary>
public sealed record CommandAnswers(IReadOnlyList<CommandResult> Results);

/// <summary>The billing run over the whole portfolio.</summary>
public sealed record RunBilling(Command.Bill Bill, Instant? At);

/// <summary>What carries commands into the store, whoever sent them.</summary>
public static class CommandHandler
{
    public static async Task<CommandAnswers> Handle(ApplyCommands message, ContractsStore store, CancellationToken stop) =>
        new(await store.Pipeline.ApplyAsync(message.Requests, stop).ConfigureAwait(false));

    public static async Task<CommandAnswers> Handle(RunBilling message, ContractsStore store, CancellationToken stop) =>
        new([await store.Pipeline.BillAsync(message.Bill, message.At, null, stop).ConfigureAwait(false)]);
}
