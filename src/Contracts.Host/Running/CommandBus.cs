using Contracts.Agreements;
using Contracts.Host.Counter;
using Contracts.Store;
using JasperFx;
using Wolverine;

namespace Contracts.Host.Running;

/// <summary>
/// Wolverine inside one process: a command line run sends its commands over the same bus, to the same handlers, as a
/// running host does.
/// </summary>
public sealed class CommandBus : IAsyncDisposable
{
    private readonly IHost host;
    private readonly IMessageBus bus;

    private CommandBus(IHost host)
    {
        this.host = host;
        bus = host.Services.GetRequiredService<IMessageBus>();
    }

    public static async Task<CommandBus> StartAsync(ContractsStore store, CancellationToken stop)
    {
        var builder = Microsoft.Extensions.Hosting.Host.CreateEmptyApplicationBuilder(null);
        builder.Services.AddSingleton(store);
        builder.UseWolverine(options =>
        {
            options.Durability.Mode = DurabilityMode.MediatorOnly;
            BusHandlers.Add(options);
        });
        var host = builder.Build();
        await host.StartAsync(stop).ConfigureAwait(false);
        return new CommandBus(host);
    }

    public async Task<IReadOnlyList<CommandResult>> ApplyAsync(IReadOnlyList<CommandRequest> requests, CancellationToken stop) =>
        (await bus.InvokeAsync<CommandAnswers>(new ApplyCommands(requests), stop, Longest).ConfigureAwait(false)).Results;

    /// <summary>Runs a command that is one message of its own: a billing run, a close.</summary>
    public async Task<CommandResult> RunAsync(CommandRequest request, CancellationToken stop) =>
        (await bus.InvokeAsync<CommandAnswers>(CommandHandler.MessageFor(request), stop, Longest).ConfigureAwait(false)).Results[0];

    /// <summary>A billing run over a large portfolio is one message; the bus must not lose patience with it.</summary>
    private static readonly TimeSpan Longest = TimeSpan.FromHours(12);

    public async ValueTask DisposeAsync()
    {
        await host.StopAsync().ConfigureAwait(false);
        host.Dispose();
    }
}
