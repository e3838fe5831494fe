namespace Contracts.Store.Writing;

/// <summary>Work that is done beside a transaction on another thread, one piece after the other in the order in which it was given.</summary>
/// <remarks>A batch is worth another thread from <see cref="Many"/> commands or events on.</remarks>
internal sealed class SideWork
{
    public const int Many = 1000;

    /// <summary>All that was given so far; it fails where a piece of it failed, and then nothing after that piece is done.</summary>
    public Task Whole { get; private set; } = Task.CompletedTask;

    /// <summary>Gives one more piece.</summary>
    public void Add(Action piece) => Whole = GoOnAsync(Whole, piece);

    /// <summary>Ends when nothing is worked on any more, whatever became of it.</summary>
    public async Task StoppedAsync() => await Whole.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);

    private static async Task GoOnAsync(Task before, Action piece)
    {
        await before.ConfigureAwait(false);
        await Task.Run(piece).ConfigureAwait(false);
    }
}
