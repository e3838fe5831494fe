using System.CommandLine;
using Contracts.Host.Sealing;
using Contracts.Host.Terminal;
using Contracts.Store;

namespace Contracts.Host.Serving;

/// <summary>`contracts serve`: the host with its durable queues, on this machine only until there is a sign-in.</summary>
public static class ServeCommand
{
    public static Command Build()
    {
        var urls = new Option<string>("--urls") { Description = "Where to listen; a loopback address.", DefaultValueFactory = _ => "http://127.0.0.1:5080" };
        urls.Validators.Add(result =>
        {
            var text = result.GetValueOrDefault<string>();
            if (!Uri.TryCreate(text, UriKind.Absolute, out var url) || !url.IsLoopback)
            {
                result.AddError("There is no sign-in yet, so --urls takes one loopback address, such as http://127.0.0.1:5080.");
            }
        });
        var command = new Command("serve", "Run the host: commands by HTTP and durable queue. On this machine only; there is no sign-in yet.") { urls };
        command.SetAction((parse, stop) => ServeAsync(parse, parse.GetRequiredValue(urls), stop));
        return command;
    }

    private static async Task<int> ServeAsync(ParseResult parse, string url, CancellationToken stop)
    {
        return await Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                if (session.Store.IsGuarded) { await MessageTables.EnsureAsync(session.Store.Connection, stop); }
                var builder = ContractsHost.Builder(session.Store, session.Store.Connection.Everyday);
                builder.WebHost.UseUrls(url);
                builder.Services.AddSingleton<IHostedService>(services => new BackgroundSealing(
                    session.Store, session.Signer, services.GetRequiredService<ILogger<BackgroundSealing>>()));
                await using var app = builder.Build();
                ContractsHost.Map(app);
                await app.StartAsync(stop);
                await Console.Error.WriteLineAsync($"listening on {url}; stop with Ctrl+C");
                await app.WaitForShutdownAsync(stop);
                return ExitCodes.Done;
            },
            stop);
    }
}
