using System.Collections.Concurrent;
using System.Globalization;
using System.Net;
using System.Text;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>
/// Bodies that nobody means, from a printed seed: never a fault, and what was answered as applied is there once, what was refused not at all.
/// CONTRACTS_FUZZ says how many.
/// </summary>
public sealed class FuzzTests(Server server)
{
    private const int Lanes = 8;
    private static readonly int Bodies = int.TryParse(Environment.GetEnvironmentVariable("CONTRACTS_FUZZ"), out var wanted) ? wanted : 20_000;
    private static readonly int Seed = int.TryParse(Environment.GetEnvironmentVariable("CONTRACTS_SEED"), out var wanted) ? wanted : Environment.TickCount;

    [Fact]
    public async Task No_body_makes_a_fault_and_no_command_is_lost_or_doubled()
    {
        TestContext.Current.TestOutputHelper?.WriteLine($"CONTRACTS_SEED={Seed} CONTRACTS_FUZZ={Bodies}");
        await using var running = await RunningApi.StartAsync(server, simulated: false);
        await running.AppliedAsync(WithoutAt(Lines.Tax));
        var another = (await running.Store.Keys.MakeAsync("Another manager", "manager", 1, "An owner")).Text;
        var applied = new ConcurrentDictionary<string, int>(StringComparer.Ordinal);
        var refused = new ConcurrentDictionary<string, bool>(StringComparer.Ordinal);
        await Parallel.ForEachAsync(Enumerable.Range(0, Lanes), TestContext.Current.CancellationToken, async (lane, _) =>
        {
            var random = new Random(Seed + lane);
            var sent = new List<(string Key, byte[] Body)>();
            for (var number = 0; number < Bodies / Lanes; number++)
            {
                var (key, body) = sent.Count > 0 && random.Next(8) == 0 ? sent[random.Next(sent.Count)] : Next(random, $"f-{lane}-{number}");
                sent.Add((key, body));
                // What looks and records nothing gets the same bodies.
                if (random.Next(6) == 0)
                {
                    var route = random.Next(2) == 0 ? "/v1/commands/preview" : "/v1/quotes";
                    var looked = await SendAsync(running, route, running.KeyOf("auditor"), null, body);
                    Assert.True((int)looked.Status < 500, $"seed {Seed}, {route}: {looked.Text}\n{Encoding.UTF8.GetString(body)}");
                }

                // What is proposed is the manager's, so that another one may approve it.
                var sender = Encoding.UTF8.GetString(body).Contains("\"approve\"", StringComparison.Ordinal) ? another : running.KeyOf("manager");
                var answer = await SendAsync(running, "/v1/commands", sender, key, body);
                Assert.True((int)answer.Status < 500, $"seed {Seed}: {answer.Text}\n{Encoding.UTF8.GetString(body)}");
                if (answer.Text.Contains("\"outcome\":\"applied\"", StringComparison.Ordinal)) { applied.AddOrUpdate(key, 1, (_, times) => times + 1); }
                else if (!answer.Text.Contains("\"outcome\":\"already\"", StringComparison.Ordinal))
                {
                    Assert.True(answer.Type.StartsWith("application/problem+json", StringComparison.Ordinal), $"seed {Seed}: {answer.Text}");
                    refused.TryAdd(key, true);
                }
            }
        });

        Assert.All(applied, one => Assert.True(one.Value == 1, $"seed {Seed}: {one.Key} was applied {one.Value} times."));
        var stored = await KeysAsync(running.Store.Connection.Owner!);
        // What an approval carries out has the key of its proposal, which nobody sent.
        Assert.Equal(
            applied.Keys.Append("tax").Order(StringComparer.Ordinal),
            stored.Where(key => !key.StartsWith("proposal:", StringComparison.Ordinal)).Order(StringComparer.Ordinal));
        var (approved, carriedOut) = (await ColumnAsync(running, "select stream_id from contracts.mt_events where type = 'change_approved'"), stored.Where(key => key.StartsWith("proposal:", StringComparison.Ordinal)).ToList());
        Assert.Equal(approved.Order(StringComparer.Ordinal), carriedOut.Order(StringComparer.Ordinal));
        Assert.NotEmpty(approved);
        var settled = await ColumnAsync(running, "select stream_id from contracts.mt_events where type in ('change_approved', 'change_declined')");
        Assert.Equal(settled.Distinct().Count(), settled.Count);
        Assert.NotEmpty(refused);
        Assert.NotEmpty(applied);
    }

    /// <summary>A good line, or one with something wrong: bytes changed, cut off, fields swapped or doubled, odd numbers, long texts, deep nests, noise.</summary>
    private static (string Key, byte[] Body) Next(Random random, string key)
    {
        var contract = $"F-{random.Next(200)}";
        var today = DateTime.UtcNow.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        string[] commands = ["sign", "sign", "pay", "pay", "refund", "hold", "release", "swap", "return", "buy", "step-up", "spend-credit", "move", "report-loss", "elect-plan", "issue", "waive", "write-off", "exchange", "credit", "propose", "propose", "propose", "approve", "approve", "decline"];
        var name = commands[random.Next(commands.Length)];
        var line = name == "sign" ? Lines.Sign(contract, $"S-{contract}", key) : CommandLines.Of(name).Replace($"\"k-{name}\"", $"\"{key}\"", StringComparison.Ordinal);
        line = WithoutAt(line).Replace("C-8", contract, StringComparison.Ordinal).Replace("2026-09-01", today, StringComparison.Ordinal)
            .Replace("\"P-1\"", $"\"P-{random.Next(60)}\"", StringComparison.Ordinal);
        if (random.Next(3) > 0) { return (key, Encoding.UTF8.GetBytes(line)); }
        switch (random.Next(9))
        {
            case 0: line = line[..random.Next(line.Length)]; break;
            case 1: line = line.Replace("1.00", Odd(random), StringComparison.Ordinal); break;
            case 2: line = line.Replace(today, Odd(random), StringComparison.Ordinal); break;
            case 3: line = line[..^1] + $",\"key\":\"{key}\"}}"; break;
            case 4: line = line[..^1] + $",\"reason\":\"{new string('r', random.Next(400))}\"}}"; break;
            case 5: line = new string('[', random.Next(1, 200)) + line + new string(']', random.Next(200)); break;
            case 6: line = line.Replace("\"contract\"", $"\"{Odd(random)}\"", StringComparison.Ordinal); break;
            case 7: line = line.Replace(contract, Odd(random), StringComparison.Ordinal); break;
            default: break;
        }

        var body = Encoding.UTF8.GetBytes(line);
        if (random.Next(2) == 0)
        {
            // The key stays whole, so that what is stored can be told from what is not.
            var place = Encoding.UTF8.GetByteCount(line[..Math.Max(0, line.IndexOf(key, StringComparison.Ordinal))]);
            for (var times = random.Next(1, 4); times > 0 && body.Length > 0; times--)
            {
                var at = random.Next(body.Length);
                if (at < place - 8 || at > place + key.Length) { body[at] = (byte)random.Next(256); }
            }
        }

        return (key, body);
    }

    private static string Odd(Random random)
    {
        string[] odd =
        [
            "", " ", "0", "-1.00", "1e9", "99999999999999999999.99", "0.001", "NaN", "null", "\\u0000", "\\ud800", "2026-02-30", "9999-12-31", "0001-01-01",
            "2026-09-01T00:00:00Z", "'; drop table contracts.mt_events; --", "../../etc/passwd", "tax:J", "mt_", "\u202e", "é", new string('x', 300), "1.00\\n",
        ];
        return odd[random.Next(odd.Length)];
    }

    private static string WithoutAt(string line) => System.Text.RegularExpressions.Regex.Replace(line, "\"at\":\"[^\"]*\",", "");

    private static async Task<Answer> SendAsync(RunningApi running, string route, string sender, string? key, byte[] body)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, route) { Content = new ByteArrayContent(body) };
        request.Content.Headers.TryAddWithoutValidation("Content-Type", "application/json");
        request.Headers.TryAddWithoutValidation("Authorization", $"Bearer {sender}");
        // A key that the body lost in its damage, or that differs from it, is refused: so every stored key is one that was sent.
        if (key is not null) { request.Headers.TryAddWithoutValidation("Idempotency-Key", key); }
        using var response = await running.Client.SendAsync(request, TestContext.Current.CancellationToken);
        return new Answer(
            response.StatusCode, await response.Content.ReadAsByteArrayAsync(TestContext.Current.CancellationToken),
            response.Content.Headers.ToDictionary(one => one.Key, one => string.Join(", ", one.Value), StringComparer.OrdinalIgnoreCase));
    }

    private static Task<List<string>> ColumnAsync(RunningApi running, string query) => ColumnAsync(running.Store.Connection.Owner!, query);

    private static Task<List<string>> KeysAsync(string database) => ColumnAsync(database, "select distinct headers->>'key' from contracts.mt_events");

    private static async Task<List<string>> ColumnAsync(string database, string query)
    {
        await using var source = Npgsql.NpgsqlDataSource.Create(database);
        await using var command = source.CreateCommand(query);
        var found = new List<string>();
        await using var reader = await command.ExecuteReaderAsync();
        while (await reader.ReadAsync()) { found.Add(reader.GetString(0)); }
        return found;
    }
}
