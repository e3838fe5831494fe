namespace Contracts.Store.Writing;

/// <summary>A caller's commands, waiting for a transaction. Taken or withdrawn, never both.</summary>
internal sealed class WaitingBatch(IReadOnlyList<CommandRequest> requests)
{
    private const int Waiting = 0;
    private const int Taken = 1;
    private const int Withdrawn = 2;

    private readonly TaskCompletionSource<IReadOnlyList<CommandResult>> answer =
        new(TaskCreationOptions.RunContinuationsAsynchronously);

    private int state = Waiting;

    public IReadOnlyList<CommandRequest> Requests { get; } = requests;

    public Task<IReadOnlyList<CommandResult>> Answer => answer.Task;

    public bool IsTaken => Volatile.Read(ref state) == Taken;

    public bool TryTake() => Interlocked.CompareExchange(ref state, Taken, Waiting) == Waiting;

    public bool TryWithdraw() => Interlocked.CompareExchange(ref state, Withdrawn, Waiting) == Waiting;

    public void Succeed(IReadOnlyList<CommandResult> results) => answer.SetResult(results);

    public void Fail(Exception fault) => answer.SetException(fault);
}
