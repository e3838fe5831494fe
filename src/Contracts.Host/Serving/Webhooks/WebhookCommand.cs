using System.CommandLine;
using System.Net.Sockets;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Store;
using Command = System.CommandLine.Command;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>`contracts webhook`: who is told each event over HTTP.</summary>
public static class WebhookCommand
{
    /// <summary>The stored names of what happens to contracts, which is what can be told.</summary>
    private static readonly string[] Events =
        [.. EventNames.All.Where(one => one.Type.IsSubclassOf(typeof(ContractEvent))).Select(one => one.Name)];

    public static Command Build() =>
        new("webhook", "Webhooks: tell another program each event, list who is told, end it, send again.") { Add(), List(), Remove(), SendAgain() };

    private static Command Add()
    {
        var url = new Argument<string>("url") { Description = "Where to: https, or http on this machine." };
        var events = new Option<string?>("--events") { Description = "Stored names of events with commas between, such as signed,payment_received; all when left out." };
        var allow = new Option<bool>("--allow-private") { Description = "The address may lie in a private network." };
        var from = new Option<long?>("--from")
        {
            Description = "Begin with this number of the store's order (1 for all history); with what is recorded from now on when left out.",
        };
        from.Validators.Add(AtLeastOne("--from"));
        var by = new Option<string?>("--by") { Description = "Who makes it." };
        var command = new Command("add", "Make a webhook and print the secret its messages are signed with, once.") { url, events, allow, from, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var names = EventsOf(parse.GetValue(events));
                var to = await CheckedAsync(parse.GetRequiredValue(url), parse.GetValue(allow), stop);
                var (id, secret) = await session.Store.Webhooks.AddAsync(
                    to, names, parse.GetValue(allow), parse.GetValue(from) - 1, parse.GetValue(by) ?? Environment.UserName, stop);
                Console.Out.WriteLine(secret);
                await Console.Error.WriteLineAsync(
                    $"{id} is told {(names is null ? "every event" : string.Join(", ", names))} while a host runs (`contracts serve`). The secret is not shown again.");
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command List()
    {
        var command = new Command("list", "Every webhook that was ever made: how far it was told, what went wrong last; never the secret.");
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                WebhookPrinter.Print(await session.Store.Webhooks.ListAsync(stop), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Remove()
    {
        var id = Id();
        var by = new Option<string?>("--by") { Description = "Who ends it." };
        var command = new Command("remove", "End a webhook for good.") { id, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var wanted = parse.GetRequiredValue(id);
                if (!await session.Store.Webhooks.RemoveAsync(wanted, parse.GetValue(by) ?? Environment.UserName, stop)) { throw Nobody(wanted); }
                await Console.Error.WriteLineAsync($"{wanted} is told nothing any more.");
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command SendAgain()
    {
        var id = Id();
        var from = new Option<long?>("--from") { Description = "The first number of the store's order that is sent again; on from where it stands when left out." };
        from.Validators.Add(AtLeastOne("--from"));
        var command = new Command("send-again", "Send from a number on, in order; ends a pause and a wait.") { id, from };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var wanted = parse.GetRequiredValue(id);
                if (!await session.Store.Webhooks.SendAgainAsync(wanted, parse.GetValue(from), stop)) { throw Nobody(wanted); }
                await Console.Error.WriteLineAsync($"{wanted} is told on{(parse.GetValue(from) is { } number ? $" from {number}" : "")}, while a host runs.");
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Argument<string> Id() => new("id") { Description = "The webhook's id, as `contracts webhook list` shows it." };

    private static Action<System.CommandLine.Parsing.OptionResult> AtLeastOne(string name) => result =>
    {
        if (result.GetValueOrDefault<long?>() is < 1) { result.AddError($"{name} is a number from 1 on."); }
    };

    private static string[]? EventsOf(string? text)
    {
        if (text is null) { return null; }
        string[] names = [.. text.Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries).Distinct(StringComparer.Ordinal)];
        return names.Length > 0 && names.All(Events.Contains) ? names : throw new UsageException($"--events takes some of {string.Join(", ", Events)}.");
    }

    private static async Task<string> CheckedAsync(string text, bool allowPrivate, CancellationToken stop)
    {
        if (Destinations.Against(text, out var url) is { } unfit) { throw new UsageException(unfit); }
        try
        {
            await Destinations.ResolveAsync(url.Host, allowPrivate, stop);
            return url.AbsoluteUri;
        }
        catch (ForbiddenDestinationException forbidden)
        {
            throw new UsageException(forbidden.Message);
        }
        catch (SocketException unknown)
        {
            throw new UsageException($"Nobody knows the host {url.Host}: {unknown.SocketErrorCode}.");
        }
    }

    private static UsageException Nobody(string id) => new($"There is no webhook {id}; `contracts webhook list` shows them.");
}
