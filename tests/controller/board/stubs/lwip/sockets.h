/* Stub, for the compiler only. */
#define AF_INET 2
#define SOCK_DGRAM 2
#define MSG_DONTWAIT 8
struct sockaddr { uint8_t sa_len; };
struct in_addr { uint32_t s_addr; };
struct sockaddr_in {
    uint8_t sin_len, sin_family;
    uint16_t sin_port;
    struct in_addr sin_addr;
};
int socket(int domain, int type, int protocol);
int bind(int s, const struct sockaddr *at, size_t size);
int recv(int s, void *to, size_t size, int flags);
uint16_t htons(uint16_t n);
