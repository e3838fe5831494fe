using System.CommandLine;
using System.Text.Json;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store.Callers;
using NodaTime.Text;
using Spectre.Console;

namespace Contracts.Host.Serving.SignIn;

/// <summary>`contracts key`: the keys that programs call the API with.</summary>
public static class KeyCommand
{
    private const int UsualDays = 90;
    private const int LongestDays = 3650;
    private const int LongestName = 200;

    public static Command Build() => new("key", "API keys: make one, list them, take one back.") { New(), List(), Revoke() };

    private static Command New()
    {
        var role = new Option<string>("--role") { Description = $"What it may do: {string.Join(", ", Roles.All)}.", Required = true };
        role.AcceptOnlyFromAmong([.. Roles.All]);
        var name = Text("--name", "Whose it is; recorded with everything it reads and sends.");
        var days = new Option<int>("--days") { Description = "For how many days it is good.", DefaultValueFactory = _ => UsualDays };
        days.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<int>() is < 1 or > LongestDays) { result.AddError($"--days is a number from 1 to {LongestDays}."); }
        });
        var by = Text("--by", "Who makes it.");
        var command = new Command("new", "Make a key and print it, once: only its hash is kept.") { role, name, days, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var wanted = parse.GetRequiredValue(role);
                var (text, key) = await session.Store.Keys.MakeAsync(
                    parse.GetValue(name) ?? wanted, wanted, parse.GetValue(days), parse.GetValue(by) ?? Environment.UserName, stop).ConfigureAwait(false);
                Console.Out.WriteLine(text);
                await Console.Error.WriteLineAsync(
                    $"{key.Id}: {key.Name}, {key.Role}, good until {InstantPattern.General.Format(key.ExpiresAt)}. It is not shown again; send it as: "
                    + "Authorization: Bearer KEY").ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command List()
    {
        var command = new Command("list", "Every key that was ever made: whose, what it may do, how long; never the key itself.");
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                Print(await session.Store.Keys.ListAsync(stop).ConfigureAwait(false), session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Revoke()
    {
        var id = new Argument<string>("id") { Description = "The key's id, as `contracts key list` shows it." };
        var by = Text("--by", "Who takes it back.");
        var command = new Command("revoke", "End a key for good, at once.") { id, by };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var wanted = parse.GetRequiredValue(id);
                if (!await session.Store.Keys.RevokeAsync(wanted, parse.GetValue(by) ?? Environment.UserName, stop).ConfigureAwait(false))
                {
                    throw new UsageException($"There is no key {wanted}; `contracts key list` shows them.");
                }

                await Console.Error.WriteLineAsync($"{wanted} opens nothing any more.").ConfigureAwait(false);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Option<string?> Text(string name, string description)
    {
        var option = new Option<string?>(name) { Description = description };
        option.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<string?>() is { } text && (text.Length is 0 or > LongestName || text.Any(char.IsControl)))
            {
                result.AddError($"{name} needs 1 to {LongestName} characters.");
            }
        });
        return option;
    }

    private static void Print(IReadOnlyList<ApiKey> keys, OutputFormat format)
    {
        switch (format)
        {
            case OutputFormat.Table:
                var table = AccountPrinter.Plain().AddColumns("id", "name", "role", "made (UTC)", "by", "good until (UTC)", "state");
                foreach (var key in keys)
                {
                    table.AddRow(
                        key.Id, Markup.Escape(key.Name), key.Role, $"{key.MadeAt:uuuu-MM-dd HH:mm}", Markup.Escape(key.MadeBy), $"{key.ExpiresAt:uuuu-MM-dd HH:mm}", State(key));
                }

                AnsiConsole.Write(table);
                break;
            case OutputFormat.Csv:
                Console.Out.WriteLine("id,name,role,madeAt,madeBy,expiresAt,state");
                foreach (var key in keys)
                {
                    Console.Out.WriteLine(string.Join(
                        ',', key.Id, AccountCsv.Cell(key.Name), key.Role, Iso(key.MadeAt), AccountCsv.Cell(key.MadeBy), Iso(key.ExpiresAt), State(key)));
                }

                break;
            case OutputFormat.Jsonl:
                foreach (var key in keys) { Console.Out.WriteLine(AccountPrinter.Json(json => Write(json, key))); }
                break;
            default:
                Console.Out.WriteLine(AccountPrinter.Json(json =>
                {
                    json.WriteStartArray();
                    foreach (var key in keys) { Write(json, key); }
                    json.WriteEndArray();
                }));
                break;
        }
    }

    private static void Write(Utf8JsonWriter json, ApiKey key)
    {
        json.WriteStartObject();
        json.WriteString("id", key.Id);
        json.WriteString("name", key.Name);
        json.WriteString("role", key.Role);
        json.WriteString("madeAt", Iso(key.MadeAt));
        json.WriteString("madeBy", key.MadeBy);
        json.WriteString("expiresAt", Iso(key.ExpiresAt));
        json.WriteString("revokedAt", key.RevokedAt is { } at ? Iso(at) : null);
        json.WriteString("revokedBy", key.RevokedBy);
        json.WriteString("state", State(key));
        json.WriteEndObject();
    }

    private static string State(ApiKey key) => key.RevokedAt is not null ? "revoked" : key.IsOver ? "expired" : "good";

    private static string Iso(NodaTime.Instant at) => InstantPattern.ExtendedIso.Format(at);
}
