using Contracts.Agreements;
using Contracts.Books;
using Contracts.Store;
using NodaTime;

namespace Contracts.Host.Counter;

/// <summary>Commands to be applied in order, in one transaction. The command line and messages send the same.</summary>
public sealed record ApplyCommands(IReadOnlyList<CommandRequest> Requests);

/// <summary>The answers, one for each command and in the same order.</summary>
public sealed record CommandAnswers(IReadOnlyList<CommandResult> Results);

/// <summary>The billing run over the whole portfolio.</summary>
public sealed record RunBilling(Command.Bill Bill, Instant? At);

/// <summary>A month of the books to be closed.</summary>
public sealed record CloseMonth(Command.Close Close, Instant? At);

/// <summary>What carries commands into the store, whoever sent them.</summary>
public static class CommandHandler
{
    public static async Task<CommandAnswers> Handle(ApplyCommands message, ContractsStore store, CancellationToken stop) =>
        new(await store.Pipeline.ApplyAsync(message.Requests, stop).ConfigureAwait(false));

    public static async Task<CommandAnswers> Handle(RunBilling message, ContractsStore store, CancellationToken stop) =>
        new([await store.Pipeline.BillAsync(message.Bill, message.At, null, stop).ConfigureAwait(false)]);

    public static async Task<CommandAnswers> Handle(CloseMonth message, ContractsStore store, CancellationToken stop) =>
        new([(await store.MonthClose.CloseAsync(message.Close, Chart.Standard, "Rental programme", message.At, stop).ConfigureAwait(false)).Outcome]);

    /// <summary>The message that carries a command.</summary>
    public static object MessageFor(CommandRequest request) => request.Command switch
    {
        Command.Bill bill => new RunBilling(bill, request.At),
        Command.Close close => new CloseMonth(close, request.At),
        _ => new ApplyCommands([request]),
    };

    /// <summary>Handles a command where it is, without a bus.</summary>
    public static Task<CommandAnswers> WithoutBusAsync(CommandRequest request, ContractsStore store, CancellationToken stop) => MessageFor(request) switch
    {
        RunBilling bill => Handle(bill, store, stop),
        CloseMonth close => Handle(close, store, stop),
        ApplyCommands apply => Handle(apply, store, stop),
        _ => throw new System.Diagnostics.UnreachableException("No handler for this message."),
    };
}
