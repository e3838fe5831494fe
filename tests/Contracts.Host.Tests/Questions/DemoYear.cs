using Contracts.Host.Story;
using Contracts.Host.Tests.Serving.Api;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Questions;

/// <summary>
/// The invented school year behind a host, loaded once for all questions, with its books closed through January 2027. What was learned of
/// December after its close is one payment of 1.00 on C-1029.
/// </summary>
public sealed class DemoYear(Server server) : IAsyncLifetime
{
    private RunningApi? running;

    internal RunningApi Running => running!;

    /// <summary>What the command line has printed so far: nothing is recorded while questions are asked, so it prints the same again.</summary>
    internal Dictionary<string, string> Printed { get; } = new(StringComparer.Ordinal);

    public async ValueTask InitializeAsync()
    {
        running = await RunningApi.StartAsync(server);
        Assert.Empty((await DemoCommand.LoadAsync(running.Store, TestContext.Current.CancellationToken)).Refused);
        foreach (var (month, minute) in new[] { ("2026-09", 1), ("2026-10", 2), ("2026-11", 3), ("2026-12", 4) }) { await CloseAsync(month, minute); }
        await running.AppliedAsync("""{"do":"pay","key":"late-1","at":"2027-06-15T23:05:00Z","contract":"C-1029","on":"2026-12-29","amount":"1.00","method":"cash"}""");
        await CloseAsync("2027-01", 6);
        await running.Store.SealerWith(running.Signer).SealAsync(anchor: true, TestContext.Current.CancellationToken);
    }

    public async ValueTask DisposeAsync()
    {
        if (running is not null) { await running.DisposeAsync(); }
    }

    /// <summary>Asks a question, and holds the surfaces it was asked on against its row in docs/questions.md.</summary>
    internal async Task AskAsync(string user, int number, Func<Asked, Task> ask)
    {
        var asked = new Asked(Running, Printed);
        await ask(asked);
        Assert.Equal(QuestionTable.Read().Single(row => row.User == user && row.Number == number).Answered, asked.On);
    }

    private Task CloseAsync(string month, int minute) => running!.AppliedAsync($$"""{"do":"close","at":"2027-06-15T23:0{{minute}}:00Z","month":"{{month}}"}""");
}

/// <summary>The questions of one user after the other, on one loaded year.</summary>
[CollectionDefinition(Name)]
public sealed class QuestionsOfTheYear : ICollectionFixture<DemoYear>
{
    public const string Name = "Questions of the demo's year";
}
